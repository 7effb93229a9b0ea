/**
 * How the capacitors empty once the plug is out: every charge together, through whatever still conducts. Integrated by a two-stage
 * diagonally implicit Runge-Kutta method (L-stable, order two: Alexander, SIAM J. Numer. Anal. 14, 1977) with steps that grow
 * with time, since the time constants of an amplifier lie between milliseconds and hours.
 */
import type { Capacitor, Circuit } from "../circuit/model.ts";
import { ResistorDevice } from "./dc/devices.ts";
import { buildElements, type Laws } from "./dc/elements.ts";
import { newtonFrom, solveDc } from "./dc/newton.ts";
import { findReach } from "./dc/reach.ts";
import { findSourceLoops } from "./dc/sources.ts";
import { DcSystem } from "./dc/system.ts";
import type { DcDevice } from "./device.ts";
import type { Discharge } from "./results.ts";
import type { Conditions } from "./states.ts";
import type { Topology } from "./topology.ts";

const GAMMA = 1 - Math.SQRT1_2;
const FIRST_STEP_SECONDS = 5e-3;
const STEP_GROWTH = 1.25;
/** Nobody waits longer than two days: what still stands then stands for ever. */
const LAST_SECONDS = 1.8e5;
const SAFE_VOLTS = [60, 50] as const;
const TIE_OHMS = 1000;

interface Charge {
  readonly part: Capacitor;
  readonly nodes: readonly [number, number];
  /** Volts at the beginning of the step, and what the stage counts from. */
  volts: number;
  base: number;
  to60: number;
  to50: number;
}

/**
 * @param conditions which valves still conduct: warm ones do as long as their cathodes hold out
 * @param startVolts volts of each capacitor when the plug comes out, by reference; nought where it is not told
 */
export function findDischarge(
  circuit: Circuit,
  topology: Topology,
  conditions: Conditions,
  laws: Laws,
  startVolts: ReadonlyMap<string, number>,
): ReadonlyMap<string, Discharge> {
  const charges: Charge[] = [];
  for (const part of circuit.parts) {
    if (part.kind !== "capacitor") continue;
    const a = part.terminals.get(part.polarised ? "plus" : "a");
    const b = part.terminals.get(part.polarised ? "minus" : "b");
    if (a === undefined || b === undefined || !(part.farads.value > 0)) continue;
    const volts = startVolts.get(part.reference) ?? 0;
    const nodes = [topology.node[a], topology.node[b]] as const;
    const now = (safe: number): number => (Math.abs(volts) <= safe ? 0 : Number.POSITIVE_INFINITY);
    charges.push({ part, nodes, volts, base: volts, to60: now(SAFE_VOLTS[0]), to50: now(SAFE_VOLTS[1]) });
  }
  const first = new Map(charges.map((charge) => [charge, charge.volts]));
  if (charges.some((charge) => charge.to50 > 0)) empty(circuit, topology, conditions, laws, charges);
  const found = new Map<string, Discharge>();
  for (const charge of charges) {
    const volts = Math.abs(first.get(charge)!);
    found.set(charge.part.reference, {
      joules: 0.5 * charge.part.farads.value * volts * volts,
      volts,
      secondsTo60V: charge.to60,
      secondsTo50V: charge.to50,
    });
  }
  return found;
}

function empty(
  circuit: Circuit,
  topology: Topology,
  conditions: Conditions,
  laws: Laws,
  charges: readonly Charge[],
): void {
  if (findSourceLoops(circuit, topology).contradiction) return;
  const { elements, sections } = buildElements(circuit, topology, conditions, [], new Set(), laws);
  const capacitors = new Set(charges.map((charge) => charge.part.reference));
  const redundant = findSourceLoops(circuit, topology).redundant;
  const devices: DcDevice[] = elements
    .map((element) => element.device)
    .filter((device) => !capacitors.has(device.reference) && !redundant.has(device.reference));
  const stage = { seconds: FIRST_STEP_SECONDS * GAMMA };
  for (const charge of charges) devices.push(companion(charge, stage));
  const reach = findReach(topology.nodeCount, devices, sections, new Set(), [], () => true);
  for (const [a, b] of reach.ties) devices.push(new ResistorDevice("", [a, b], TIE_OHMS, 0));
  const system = new DcSystem(devices, topology.nodeCount, new Set(), new Set());
  const x = new Float64Array(system.size);
  const across = (charge: Charge): number => {
    const [a, b] = charge.nodes;
    return (a < 0 ? 0 : x[system.unknownOfNode[a]]) - (b < 0 ? 0 : x[system.unknownOfNode[b]]);
  };
  const settle = (): boolean => newtonFrom(system, x) || solveDc(system, x).converged;

  let seconds = 0;
  let step = FIRST_STEP_SECONDS;
  while (seconds < LAST_SECONDS) {
    stage.seconds = step * GAMMA;
    for (const charge of charges) charge.base = charge.volts;
    if (!settle()) return;
    // The second stage counts from where the first one's slope leads.
    for (const charge of charges) {
      const slope = (across(charge) - charge.volts) / stage.seconds;
      charge.base = charge.volts + step * (1 - GAMMA) * slope;
    }
    if (!settle()) return;
    let waiting = false;
    for (const charge of charges) {
      const after = across(charge);
      charge.to60 = Math.min(charge.to60, crossing(charge.volts, after, SAFE_VOLTS[0], seconds, step));
      charge.to50 = Math.min(charge.to50, crossing(charge.volts, after, SAFE_VOLTS[1], seconds, step));
      charge.volts = after;
      if (charge.to50 === Number.POSITIVE_INFINITY) waiting = true;
    }
    if (!waiting) return;
    seconds += step;
    step *= STEP_GROWTH;
  }
}

/** When a falling charge passes some volts within a step, taken as exponential there. */
function crossing(before: number, after: number, safe: number, seconds: number, step: number): number {
  const from = Math.abs(before);
  const to = Math.abs(after);
  if (!(from > safe && to <= safe)) return Number.POSITIVE_INFINITY;
  const part = to > 0 ? Math.log(from / safe) / Math.log(from / to) : (from - safe) / from;
  return seconds + step * part;
}

/** A capacitor over one stage of a step: a conductance C/h from what it counts from. */
function companion(charge: Charge, stage: { readonly seconds: number }): DcDevice {
  const farads = charge.part.farads.value;
  return {
    reference: charge.part.reference,
    nodes: charge.nodes,
    branches: 0,
    linear: false,
    evaluate(x, f, jac) {
      const siemens = farads / stage.seconds;
      const amps = siemens * (x[0] - x[1] - charge.base);
      f[0] = amps;
      f[1] = -amps;
      jac[0] = siemens;
      jac[1] = -siemens;
      jac[2] = -siemens;
      jac[3] = siemens;
    },
  };
}
