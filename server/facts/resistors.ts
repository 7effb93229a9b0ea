/** Resistors: the body's working volts. How their power falls with heat stands in `passives.ts`. */
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
