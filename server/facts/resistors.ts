/** Resistors: the body's working volts, and how their power falls with heat. */
import type { ResistorMaterial } from "../circuit/model.ts";
import type { Evidence, Sourced } from "./figure.ts";

export interface BodyRow extends Sourced {
  readonly material: ResistorMaterial;
  readonly watts: number;
  /** Largest dc or rms volts whatever the ohms. */
  readonly volts: number;
}

const rows = (
  material: ResistorMaterial,
  source: string,
  evidence: Evidence,
  ...pairs: readonly (readonly [watts: number, volts: number])[]
): BodyRow[] => pairs.map(([watts, volts]) => ({ material, watts, volts, source, evidence }));

/** Every published limiting element voltage known here. */
export const bodyRows: readonly BodyRow[] = [
  ...rows(
    "carbon-composition",
    "carbon composition sheets after MIL-R-11 (RC07 to RC42)",
    "seen",
    [0.125, 150],
    [0.5, 350],
    [1, 500],
    [2, 500],
  ),
  ...rows("carbon-composition", "MIL-R-11, RC07", "memory", [0.25, 250]),
  ...rows("carbon-composition", "a commercial 2 W composition type", "seen", [2, 750]),
  ...rows(
    "carbon-film",
    "carbon film sheet (CFR series), normal body",
    "seen",
    [1 / 6, 150],
    [0.25, 250],
    [0.5, 350],
    [1, 500],
    [2, 500],
  ),
  ...rows(
    "carbon-film",
    "carbon film sheet (CFR series), miniature body",
    "seen",
    [0.25, 200],
    [0.5, 300],
    [1, 400],
    [2, 500],
    [3, 500],
  ),
  ...rows(
    "metal-film",
    "metal film sheet (MFR series), normal body",
    "seen",
    [1 / 6, 200],
    [0.25, 250],
    [0.5, 350],
    [1, 500],
    [2, 500],
  ),
  ...rows(
    "metal-film",
    "metal film sheet (MFR series), miniature body",
    "seen",
    [0.25, 200],
    [0.5, 300],
    [1, 400],
    [2, 500],
    [3, 500],
  ),
  ...rows(
    "metal-film",
    "metal film sheet (MF series), normal body",
    "seen",
    [0.125, 150],
    [0.25, 250],
    [0.5, 300],
    [1, 350],
    [2, 500],
    [3, 500],
    [5, 500],
  ),
  ...rows(
    "metal-film",
    "metal film sheet (MF series), small body",
    "seen",
    [0.25, 150],
    [0.5, 250],
    [1, 300],
    [2, 350],
    [3, 500],
    [5, 500],
  ),
  ...rows(
    "metal-oxide",
    "metal oxide sheet (MOS series), reduced body",
    "seen",
    [0.5, 300],
    [1, 350],
    [5, 500],
  ),
  // Larger wirewound types are limited by their power alone: no body voltage is published for most of them.
  ...rows("wirewound", "small cement-coated wirewound sheet (2.5 W at 70 °C)", "seen", [2.5, 100]),
];

/** Wirewound types above this carry no body limit of their own. Source: from memory. */
const largestLimitedWirewound = 3;

/**
 * The lowest published body volts for a wattage and kind: what an unmarked part may be held to.
 * A wattage between two published ones is held to the smaller; one above the table to its largest.
 * @param material undefined where it is not known: the lowest of every kind but wirewound, which is never unmarked
 * @returns undefined where none is published (large wirewound)
 */
export function lowestBodyVolts(watts: number, material: ResistorMaterial | undefined): BodyRow | undefined {
  const key = `${material ?? ""} ${watts}`;
  if (!looked.has(key)) looked.set(key, lookUp(watts, material));
  return looked.get(key);
}

/** A file asks for the same few wattages over and over. */
const looked = new Map<string, BodyRow | undefined>();

function lookUp(watts: number, material: ResistorMaterial | undefined): BodyRow | undefined {
  if (material === "wirewound" && watts > largestLimitedWirewound) return undefined;
  const known = bodyRows.filter((row) =>
    material === undefined ? row.material !== "wirewound" : row.material === material,
  );
  // Within rounding (1/6 W is often written 0.167 W).
  const size = Math.max(
    ...known.map((row) => row.watts).filter((published) => published <= watts * 1.01),
    Math.min(...known.map((row) => row.watts)),
  );
  let lowest: BodyRow | undefined;
  for (const row of known) if (row.watts === size && (!lowest || row.volts < lowest.volts)) lowest = row;
  return lowest;
}

export interface ResistorDerating extends Sourced {
  /** Full power up to this ambient, °C. */
  readonly fullCelsius: number;
  /** No power left at this ambient, °C. */
  readonly zeroCelsius: number;
}

/** The power that is left falls in a straight line between both temperatures. */
export const resistorDerating: Readonly<Record<ResistorMaterial | "unknown", ResistorDerating>> = {
  "carbon-composition": {
    fullCelsius: 70,
    zeroCelsius: 130,
    source: "carbon composition sheet; MIL-R-39008",
    evidence: "seen",
  },
  "carbon-film": {
    fullCelsius: 70,
    zeroCelsius: 155,
    source: "carbon film sheet (CFR series)",
    evidence: "seen",
  },
  "metal-film": {
    fullCelsius: 70,
    zeroCelsius: 155,
    source: "metal film sheet (MFR series)",
    evidence: "seen",
  },
  "metal-oxide": {
    fullCelsius: 70,
    zeroCelsius: 235,
    source: "metal oxide sheet (MOS series)",
    evidence: "seen",
  },
  wirewound: {
    fullCelsius: 70,
    zeroCelsius: 155,
    source: "cement wirewound sheets: 155 °C category limit",
    evidence: "seen",
  },
  // The steepest of the common kinds.
  unknown: {
    fullCelsius: 70,
    zeroCelsius: 130,
    source: "carbon composition sheet, the steepest of the kinds",
    evidence: "seen",
  },
};

/** Part of the rated power that is left at an ambient temperature, 0..1. */
export function powerShareAt(celsius: number, material: ResistorMaterial | undefined): number {
  const { fullCelsius, zeroCelsius } = resistorDerating[material ?? "unknown"];
  return Math.min(1, Math.max(0, (zeroCelsius - celsius) / (zeroCelsius - fullCelsius)));
}

/** Five seconds of overload: times the rated volts. */
export const shortOverload = {
  factor: 2.5,
  seconds: 5,
  source: "film resistor sheets (CFR and MFR series)",
  evidence: "seen",
} as const;
