/** What a reading points at that is no drift: a coupling capacitor that leaks, and a valve that draws nothing. */
import type { Circuit, Measurement, NetIndex } from "../../circuit/model.ts";
import { leakage } from "../../facts/bench.ts";
import type { Solution } from "../../physics/results.ts";
import { ends, metered, partsOn, quantity } from "../frame/index.ts";
import { networkOf } from "../shared/network.ts";
import { netsWith } from "../shared/nodes.ts";
import { amplifying } from "../shared/sections.ts";

export interface Suspect {
  readonly reference: string;
  readonly text: string;
}

/** The net that is read, if it is one net's volts. */
function netOf({ target, unit }: Measurement): NetIndex | undefined {
  if (unit !== "volt") return undefined;
  return target.kind === "net" || target.kind === "electrode" ? target.net : undefined;
}

/**
 * A grid reads too high, and a capacitor on its way holds off volts far above it: what leaks through it, by the grid's leak.
 * @param difference measured less computed
 */
export function leakInto(
  circuit: Circuit,
  solution: Solution,
  reading: Measurement,
  difference: number,
): Suspect | undefined {
  const net = netOf(reading);
  if (net === undefined || !(difference > 0)) return undefined;
  const network = networkOf(circuit);
  const behind = gridSide(circuit, net);
  if (!amplifying(circuit).some(({ grid }) => grid !== undefined && behind.includes(grid))) return undefined;
  for (const at of behind)
    for (const part of partsOn(circuit, at)) {
      if (part.kind !== "capacitor" || part.polarised) continue;
      const far = ends(part)?.find((end) => end !== at);
      if (far === undefined || !(solution.volts[far] > reading.value + leakage.leastVolts)) continue;
      const leak = network.wayToCommon(at)?.ohms;
      if (leak === undefined || !(leak > 0)) continue;
      const amps = difference / leak;
      const ohms = (solution.volts[far] - reading.value) / amps;
      return {
        reference: part.reference,
        text:
          `${part.reference}, leaking from ${circuit.nets[far].name} (${metered(solution.volts[far], "V")}), would explain it: ${quantity(amps, "A")}, as ` +
          `through ${quantity(ohms, "Ω")}. It drives the valve hot: replace it first; where the volts stay, the valve itself has gas or grid current.`,
      };
    }
  return undefined;
}

/** Nets on the way from a grid to its coupling capacitor: its own, and those behind its stopper. */
function gridSide(circuit: Circuit, net: NetIndex): readonly NetIndex[] {
  const found = new Set(netsWith(circuit, net));
  for (const at of [...found])
    for (const part of partsOn(circuit, at)) {
      if (part.kind !== "resistor" || part.ohms.value > leakage.mostStopperOhms) continue;
      for (const end of ends(part) ?? [])
        if (end !== circuit.ground) for (const same of netsWith(circuit, end)) found.add(same);
    }
  return [...found];
}

/** A plate that reads what its supply has: no current goes through its load. */
export function isDead(circuit: Circuit, solution: Solution, reading: Measurement): boolean {
  const net = netOf(reading);
  if (net === undefined) return false;
  const section = amplifying(circuit).find(
    ({ plate }) => plate !== undefined && netsWith(circuit, net).includes(plate),
  );
  const load =
    section &&
    partsOn(circuit, net).find(
      (part) => part.kind === "resistor" && part.ohms.value >= leakage.leastLoadOhms,
    );
  const supply = load && ends(load)?.find((end) => end !== net);
  if (supply === undefined || !(solution.volts[supply] > solution.volts[net] + leakage.leastVolts))
    return false;
  return reading.value >= solution.volts[supply] * leakage.deadShare;
}
