/** Which parts, drifted by how much, would explain a reading: by sensitivity, to first order. */
import type { Circuit, Measurement, NetIndex, Part } from "../../circuit/model.ts";
import type { Solution } from "../../physics/results.ts";
import { ends, percent, quantity } from "../frame/index.ts";

export interface Drift {
  readonly reference: string;
  /** Fraction of the part's own value: -0.14 is 14 % low. */
  readonly fraction: number;
  readonly text: string;
}

/**
 * How far a part drifts and still counts as drifted: composition resistors up to four times their value and down to half, a valve to
 * twice its current; copper hardly at all (a fifth: its temperature). Common practice.
 */
const PLAUSIBLE = { low: -0.5, high: 3 } as const;
const PLAUSIBLE_VALVE = { low: -0.9, high: 1 } as const;
const PLAUSIBLE_COPPER = { low: -0.2, high: 0.2 } as const;

function plausible(circuit: Circuit, reference: string): { readonly low: number; readonly high: number } {
  switch (partOf(circuit, reference)?.kind) {
    case "transformer":
    case "output-transformer":
    case "choke":
      return PLAUSIBLE_COPPER;
    case "valve":
      return PLAUSIBLE_VALVE;
    default:
      return PLAUSIBLE;
  }
}

/** The part of a key: `T1.ht` is T1. */
const partOf = (circuit: Circuit, reference: string): Part | undefined =>
  circuit.partByReference.get(reference) ?? circuit.partByReference.get(reference.replace(/\.[^.]*$/, ""));

/** The likeliest drifts, smallest first. `difference`: measured less computed, volts or amperes. */
export function drifts(
  circuit: Circuit,
  solution: Solution,
  reading: Measurement,
  difference: number,
  most = 3,
): readonly Drift[] {
  const found: Drift[] = [];
  for (const [reference, slope] of slopes(circuit, solution, reading)) {
    if (slope === 0) continue;
    const fraction = difference / slope;
    const { low, high } = plausible(circuit, reference);
    if (!(fraction > low && fraction < high)) continue;
    const text = wording(circuit, reference, fraction);
    if (text) found.push({ reference, fraction, text });
  }
  return found
    .sort((a, b) => Math.abs(a.fraction) - Math.abs(b.fraction) || (a.reference < b.reference ? -1 : 1))
    .slice(0, most);
}

/** Change of what is read for +100 % of each part. */
function slopes(circuit: Circuit, solution: Solution, reading: Measurement): ReadonlyMap<string, number> {
  const { target } = reading;
  const of = (net: NetIndex) =>
    new Map(solution.sensitivity(net).map((entry) => [entry.reference, entry.dVolts]));
  if (target.kind === "net") return of(target.net);
  if (target.kind === "electrode") return reading.unit === "volt" ? of(target.net) : new Map();
  if (target.kind !== "across" && target.kind !== "through") return new Map();
  const part = circuit.partByReference.get(target.reference);
  const pair = part && ends(part);
  if (!part || !pair) return new Map();
  const across = of(pair[0]);
  for (const [reference, slope] of of(pair[1])) across.set(reference, (across.get(reference) ?? 0) - slope);
  if (target.kind === "across") return across;
  if (part.kind !== "resistor") return new Map();
  // A current is the voltage over the resistance, whose own drift takes its share off again.
  const ohms = part.ohms.value;
  const amps = solution.readings.get(part.reference)?.amps ?? 0;
  const through = new Map([...across].map(([reference, slope]) => [reference, slope / ohms]));
  through.set(part.reference, (through.get(part.reference) ?? 0) - amps);
  return through;
}

function wording(circuit: Circuit, reference: string, fraction: number): string | undefined {
  const part = partOf(circuit, reference);
  const change = `${fraction > 0 ? "+" : "−"}${percent(Math.abs(fraction))}`;
  switch (part?.kind) {
    case "resistor":
    case "pot":
      return `${reference} at ${quantity(part.ohms.value * (1 + fraction), "Ω")} (${change})`;
    case "valve":
      return `${reference} drawing ${percent(Math.abs(fraction))} ${fraction > 0 ? "more" : "less"}`;
    case "zener":
      return `${reference} at ${quantity(part.volts.value * (1 + fraction), "V")} (${change})`;
    case undefined:
      return undefined;
    default:
      return `${reference} off by ${change}`;
  }
}
