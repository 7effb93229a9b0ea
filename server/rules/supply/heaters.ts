/** What heaters and lamps draw from a winding. */
import type { Circuit, NetIndex, Transformer, Valve, Winding } from "../../circuit/model.ts";
import { heaterDropper } from "../../facts/heaters.ts";
import { bookOf } from "../../facts/valves/book.ts";
import type { HeaterArrangement } from "../../facts/valves/index.ts";
import { mainsWindings } from "../../physics/mains-windings.ts";
import { partsOf, partsOn } from "../frame/index.ts";
import { netsWith, topologyOf } from "../shared/nodes.ts";

export interface HeaterLoad {
  readonly reference: string;
  readonly amps: number;
  readonly valve?: Valve;
}

/** The heater arrangement that a valve is wired for: as written, or the one that suits the volts across it. */
export function arrangementOf(circuit: Circuit, valve: Valve, volts?: number): HeaterArrangement | undefined {
  const facts = valve.type === undefined ? undefined : bookOf(circuit).find(valve.type);
  if (!facts || facts.heater.length === 0) return undefined;
  const written = facts.heater.find((entry) => entry.name === valve.heater?.wiring);
  if (written) return written;
  if (volts === undefined || !(volts > 0)) return facts.heater[0];
  const off = (entry: HeaterArrangement) => Math.abs(Math.log(volts / entry.volts));
  return [...facts.heater].sort((a, b) => off(a) - off(b))[0];
}

/** Rated rms volts between two nets of a winding; undefined where they are not both on it. */
export function windingVolts(
  circuit: Circuit,
  winding: Winding,
  a: NetIndex,
  b: NetIndex,
): number | undefined {
  const { node } = topologyOf(circuit);
  const at = (net: NetIndex) => winding.nets.findIndex((own) => node[own] === node[net]);
  const [i, j] = [at(a), at(b)].sort((x, y) => x - y);
  if (i < 0 || i === j) return undefined;
  return winding.segmentVolts.slice(i, j).reduce((sum, v) => sum + Math.abs(v), 0);
}

/** Heaters and lamps that hang straight on a winding, with their published currents. */
export function loadsOf(circuit: Circuit, winding: Winding): readonly HeaterLoad[] {
  const loads: HeaterLoad[] = [];
  for (const part of circuit.parts) {
    if (part.kind === "valve" && part.heater) {
      const volts = windingVolts(circuit, winding, ...part.heater.nets);
      if (volts === undefined) continue;
      const arrangement = arrangementOf(circuit, part, volts);
      if (arrangement) loads.push({ reference: part.reference, amps: arrangement.amps, valve: part });
    } else if (part.kind === "lamp" && !part.neon) {
      const [a, b] = [part.terminals.get("a"), part.terminals.get("b")];
      if (a === undefined || b === undefined || windingVolts(circuit, winding, a, b) === undefined) continue;
      const amps =
        part.amps?.value ?? (part.watts && part.volts ? part.watts.value / part.volts.value : undefined);
      if (amps !== undefined) loads.push({ reference: part.reference, amps });
    }
  }
  return loads;
}

/**
 * A heater that hangs on a winding at one end and elsewhere at the other, or behind a dropper: a series string. Through common, where
 * every winding may end, no heater hangs on any.
 */
export function hasString(circuit: Circuit, winding: Winding): boolean {
  const common = new Set(circuit.ground === undefined ? [] : netsWith(circuit, circuit.ground));
  const ends = new Set(winding.nets.flatMap((net) => netsWith(circuit, net)));
  const nets = new Set([...ends].filter((net) => !common.has(net)));
  for (const net of nets) {
    for (const part of partsOn(circuit, net)) {
      if (
        part.kind === "valve" &&
        part.heater?.nets.includes(net) &&
        !part.heater.nets.every((own) => ends.has(own))
      )
        return true;
      const drops =
        part.kind === "thermistor" || (part.kind === "resistor" && part.ohms.value <= heaterDropper.mostOhms);
      if (!drops) continue;
      for (const far of part.terminals.values())
        for (const own of netsWith(circuit, far)) if (!common.has(own)) nets.add(own);
    }
  }
  return false;
}

export interface Secondary {
  readonly transformer: Transformer;
  readonly winding: Winding;
  /** `T1.ht` */
  readonly key: string;
}

/** Every secondary of every transformer; a second winding on the mains is none. */
export function* secondaries(circuit: Circuit): Generator<Secondary> {
  for (const part of partsOf(circuit, "transformer")) {
    const mains = mainsWindings(circuit).get(part) ?? [];
    for (const winding of part.secondaries)
      if (!mains.includes(winding))
        yield { transformer: part, winding, key: `${part.reference}.${winding.name}` };
  }
}
