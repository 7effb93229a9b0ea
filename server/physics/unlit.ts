/**
 * Valves that go cold in a state: others of their string of heaters are out of their sockets, or the standby switch breaks it. Found
 * from the currents themselves, since a string has branches, lamps and droppers beside it, and a tap that feeds a rectifier's plate,
 * and heaters may live on the cathode current of others.
 */
import type { InSteps } from "../circuit/in-steps.ts";
import type { Circuit, Valve } from "../circuit/model.ts";
import { outOfHeat } from "../facts/heaters.ts";
import type { Solution } from "./results.ts";
import { outputValves } from "./states.ts";
import type { Topology } from "./topology.ts";

const NONE: ReadonlySet<string> = new Set();

/**
 * Whether pulling the output valves can interrupt another's heater: not where each of theirs stands straight across a winding or a
 * source, as most do.
 */
export function interruptsOthers(circuit: Circuit, { node }: Topology): boolean {
  const output = outputValves(circuit);
  const across = new Set<string>();
  const pair = (a: number, b: number): string => (a < b ? `${a} ${b}` : `${b} ${a}`);
  for (const part of circuit.parts) {
    if (part.kind === "transformer") {
      for (const { nets } of part.secondaries) {
        for (let i = 0; i < nets.length; i++)
          for (let j = i + 1; j < nets.length; j++) across.add(pair(node[nets[i]], node[nets[j]]));
      }
    } else if (part.kind === "source") {
      const plus = part.terminals.get("plus");
      const minus = part.terminals.get("minus");
      if (plus !== undefined && minus !== undefined) across.add(pair(node[plus], node[minus]));
    }
  }
  let pulledInString = false;
  let othersHeated = false;
  for (const part of circuit.parts) {
    if (part.kind !== "valve" || !part.heater) continue;
    const [a, b] = part.heater.nets;
    if (!output.has(part.reference)) othersHeated = true;
    else if (node[a] !== node[b] && !across.has(pair(node[a], node[b]))) pulledInString = true;
  }
  return pulledInString && othersHeated;
}

/**
 * The valves still in their sockets whose heaters have lost what they had.
 * @param before a state in which the heaters have all that they are given
 * @param then the other state, every valve in its socket taken as warm
 * @param out  references of the valves that are out of theirs
 */
export function* unlitBetween(
  circuit: Circuit,
  before: Solution,
  then: Solution,
  out: ReadonlySet<string> = NONE,
): InSteps<ReadonlySet<string>> {
  if (!before.solved || !then.solved) return NONE;
  const unlit = new Set<string>();
  for (const part of circuit.parts) {
    if (part.kind !== "valve" || !part.heater || out.has(part.reference)) continue;
    const volts = heaterVolts(before, part);
    yield;
    if (!(volts > 0)) continue;
    if (!(heaterVolts(then, part) >= outOfHeat.share * volts)) unlit.add(part.reference);
    yield;
  }
  return unlit;
}

/** Whether a heater has nothing in a state. */
export function* someUnheated(circuit: Circuit, solution: Solution): InSteps<boolean> {
  if (!solution.solved) return true;
  for (const part of circuit.parts) {
    if (part.kind !== "valve" || !part.heater) continue;
    if (!(heaterVolts(solution, part) > LEAST_VOLTS)) return true;
    yield;
  }
  return false;
}

const LEAST_VOLTS = 0.1;

/** rms, or direct where it is fed with that; NaN where nothing fixes it. */
function heaterVolts(solution: Solution, valve: Valve): number {
  const reading = solution.readings.get(`${valve.reference}.heater`);
  return Math.abs(reading?.rmsVolts ?? reading?.volts ?? Number.NaN);
}
