/** What several kinds share: terminals a and b, usual facts, defaults, and the telling of what is missing. */
import type { Sourced } from "../../facts/figure.ts";
import type { Given, Part, PartBase } from "../model.ts";
import { problem } from "../problems.ts";
import type { Building, NumberFact, TerminalSpec, WordFact } from "./kind.ts";

export const endA: TerminalSpec = { name: "a", aliases: ["1"], description: "the one end" };
export const endB: TerminalSpec = { name: "b", aliases: ["2"], description: "the other end" };

export const ohms: NumberFact = {
  field: "ohms",
  unit: "ohm",
  bare: "ohm",
  what: "resistance",
  example: "4k7",
  labels: ["resistance"],
  zero: true,
  most: 1e12,
};
/** Resistance of a winding to direct current. */
export const copperOhms: NumberFact = {
  field: "ohms",
  unit: "ohm",
  bare: "ohm",
  what: "dc resistance",
  example: "220R",
  labels: ["dcr", "resistance"],
  zero: true,
  most: 1e6,
};
export const watts: NumberFact = {
  field: "watts",
  unit: "watt",
  what: "rated power",
  example: "0.5W",
  most: 1e5,
};
export const volts: NumberFact = {
  field: "volts",
  unit: "volt",
  what: "rated voltage",
  example: "450V",
  labels: ["working"],
  most: 1e5,
};
export const amps: NumberFact = {
  field: "amps",
  unit: "ampere",
  what: "rated current",
  example: "100mA",
  most: 1e4,
};
export const tolerance: NumberFact = {
  field: "tolerance",
  unit: "percent",
  what: "tolerance",
  example: "5%",
  scale: 0.01,
  zero: true,
  most: 1,
};

export function words(
  field: string,
  described: Readonly<Record<string, string>>,
): Readonly<Record<string, WordFact>> {
  return Object.fromEntries(
    Object.entries(described).map(([value, description]) => [value, { field, value, description }]),
  );
}

/** A figure taken where the file gives none. */
export function byDefault(figure: Sourced & { readonly value: number }): Given {
  return { value: figure.value, origin: "default", source: figure.source };
}

export function estimated(value: number, source: string): Given {
  return { value, origin: "estimate", source };
}

/**
 * Tells, once, that a part lacks a fact that it cannot do without; not where a wrong value was told already, nor where the
 * grammar told that the part has not even a reference: one slip, one finding.
 */
export function tellMissing(building: Building, what: string, example: string): void {
  const { raw, facts, problems } = building;
  if (facts.wrong || facts.places.has(what) || raw.unnamed) return;
  const range = raw.referencePlace.range;
  problems.push(
    problem(
      "circuit/missing-value",
      `${raw.reference} has no ${what}: write one behind it, such as ${raw.spec.kind} ${raw.unnamed ? "" : `${raw.reference} `}${example}.`,
      raw.place.file,
      range,
      [raw.reference],
    ),
  );
}

/**
 * A value that the part cannot do without. Where it is missing that is told, and a stand-in taken so that the rest of the
 * circuit can still be computed: an estimate, and everything that rests on it is told as one.
 */
export function required(
  building: Building,
  field: string,
  what: string,
  example: string,
  standIn: number,
  means: string,
): Given {
  const given = building.facts.numbers[field];
  if (given) return given;
  if (!building.facts.places.has(field)) tellMissing(building, what, example);
  return estimated(standIn, `${building.raw.reference} has no ${what}: ${means}`);
}

/** Taken for a resistance that is not known: no current that matters. */
export const openOhms = 1e12;

/**
 * A part of what every part has (made for this part alone, and used up) and what its kind adds. By `assign`: an object
 * literal that spreads another and then goes on costs a hundred times as much (measured).
 */
export function made<P extends Part>(base: PartBase, own: Omit<P, keyof PartBase>): P {
  return Object.assign(base, own) as unknown as P;
}
