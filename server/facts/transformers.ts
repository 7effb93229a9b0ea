/** Winding resistances where the file gives none. Every result is an estimate and is told as one. */
import type { Sourced, Table } from "./figure.ts";
import { windingFactor } from "./supply.ts";

/**
 * No-load rise of a mains transformer by its VA, a fraction. Practice gives 10 to 20 % below 100 VA and 5 to 10 % above;
 * the points below put the ends of those ranges at usual small and large sizes.
 */
export const noLoadRise: Table = {
  rows: [
    [20, 0.2],
    [100, 0.1],
    [400, 0.05],
  ],
  source: "common practice: no-load rise of 10 to 20 % below 100 VA, 5 to 10 % above",
  evidence: "practice",
};

/** Copper losses are shared evenly between the primary and the secondaries. */
export const primaryCopperShare = { value: 0.5, source: "common practice", evidence: "practice" } as const;

/** Part of a winding's open-circuit volts that is lost in its own copper at its rated current. */
export const copperLoss = {
  /** Behind a resistance no more than this can be drawn: with half of the volts lost in it, the rest gives its most. */
  most: {
    value: 0.5,
    source: "Ohm's law: a source behind a resistance gives its most with half of its volts",
  },
  practice: {
    value: 0.3,
    source: "common practice: even transformers of 1 to 2 VA rise to 1.6 times their volts without load",
  },
} as const;

/** VA taken where neither the VA nor any current is given. */
export const unknownVoltAmperes = { value: 100, source: "common practice", evidence: "practice" } as const;

/** rms of a winding for one ampere of direct current, capacitor input, where only the winding is known. */
export const directFactor = {
  centreTapped: windingFactor.centreTapped,
  whole: windingFactor.bridge,
} as const;

/** Henries over ohms of a smoothing choke, seconds: about 22 ohms a henry. */
export const chokeTimeConstant = {
  value: 0.045,
  source: "common practice: smoothing chokes come to 20 to 25 Ω per henry",
  evidence: "practice",
} as const;

/** No stage works into less from plate to plate: a prefix was forgotten. */
export const leastPlateOhms = {
  value: 400,
  source: "common practice: eight large valves in parallel push-pull have some 500 Ω",
  evidence: "practice",
} as const;

/** Resistance of an output transformer's windings as a part of the impedance that they are wound for. */
export const outputCopper: Readonly<
  Record<"plates" | "single" | "speaker", Sourced & { readonly value: number }>
> = {
  plates: {
    value: 0.04,
    source: "common practice: 3 to 5 % of the plate-to-plate impedance",
    evidence: "practice",
  },
  single: { value: 0.05, source: "common practice: 4 to 6 % of the plate impedance", evidence: "practice" },
  speaker: {
    value: 0.05,
    source: "common practice: 4 to 6 % of the speaker impedance",
    evidence: "practice",
  },
};

/** @returns the no-load rise at a size: a straight line in the logarithm of the VA, held at the table's ends */
export function noLoadRiseAt(voltAmperes: number): number {
  const { rows } = noLoadRise;
  if (!(voltAmperes > rows[0][0])) return rows[0][1];
  for (let i = 1; i < rows.length; i++) {
    const [from, rise] = rows[i - 1];
    const [to, next] = rows[i];
    if (voltAmperes <= to) return rise + ((next - rise) * Math.log(voltAmperes / from)) / Math.log(to / from);
  }
  return rows[rows.length - 1][1];
}
