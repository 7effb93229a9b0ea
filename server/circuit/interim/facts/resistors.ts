/** Published figures of resistors and pots: body working volts and tolerances. */

export interface Sourced {
  readonly value: number;
  readonly source: string;
}

type Material = "carbon-composition" | "carbon-film" | "metal-film" | "metal-oxide" | "wirewound";

/** Lowest published body volts of a wattage, whatever the maker: 1/8, 1/4, 1/2, 1, 2, 3, 5 W. */
const lowest: readonly (readonly [watts: number, volts: number])[] = [
  [0.125, 150],
  [0.25, 150],
  [0.5, 250],
  [1, 300],
  [2, 350],
  [3, 500],
  [5, 500],
];

/** By kind where makers' sheets or MIL-R-11 give one; the lowest of the printings read. */
const byMaterial: Readonly<Partial<Record<Material, readonly (readonly [watts: number, volts: number])[]>>> = {
  "carbon-composition": [
    [0.125, 150],
    [0.25, 150],
    [0.5, 350],
    [1, 500],
    [2, 500],
  ],
  "carbon-film": [
    [0.125, 150],
    [0.25, 200],
    [0.5, 300],
    [1, 400],
    [2, 500],
    [3, 500],
  ],
  "metal-film": [
    [0.125, 150],
    [0.25, 150],
    [0.5, 250],
    [1, 300],
    [2, 350],
    [3, 500],
    [5, 500],
  ],
  "metal-oxide": [
    [0.5, 300],
    [1, 350],
    [5, 500],
  ],
};

const sourceOf: Readonly<Record<Material | "unknown", string>> = {
  "carbon-composition": "MIL-R-11 body limits and makers' sheets, the lowest printing",
  "carbon-film": "makers' sheets of miniature carbon film, the lowest printing",
  "metal-film": "makers' sheets of small metal film, the lowest printing",
  "metal-oxide": "makers' sheets of reduced-body metal oxide, the lowest printing",
  wirewound: "from memory: larger wirewound parts are limited by power alone",
  unknown: "lowest published figure for the wattage, makers' sheets and MIL-R-11",
};

/**
 * Working volts of a body, dc or rms; the figure of the next smaller listed wattage.
 * @returns undefined for wirewound parts (power alone limits them) and where the wattage is not known
 */
export function resistorWorkingVolts(watts: number | undefined, material: Material | undefined): Sourced | undefined {
  if (watts === undefined || material === "wirewound") return undefined;
  const rows = (material && byMaterial[material]) ?? lowest;
  const row = [...rows].reverse().find(([listed]) => listed <= watts * 1.0001) ?? rows[0];
  return { value: row[1], source: sourceOf[material ?? "unknown"] };
}

/** Tolerance by kind when none is marked, as a fraction. */
export function resistorTolerance(material: Material | undefined): Sourced {
  if (material === "metal-film") return { value: 0.01, source: "common practice: metal film is sold at 1 %" };
  if (material === "carbon-composition")
    return { value: 0.1, source: "common practice: carbon composition with a silver band" };
  return { value: 0.05, source: "common practice: E24, 5 %" };
}

export const potTolerance: Sourced = { value: 0.2, source: "common practice: pots are sold at 20 %" };
export const potVolts: Sourced = { value: 350, source: "common practice: 24 mm pots, half a watt" };
export const thermistorTolerance: Sourced = { value: 0.2, source: "from memory: inrush thermistors are sold at 20 %" };
export const chokeTolerance: Sourced = { value: 0.2, source: "common practice: dc resistance as wound" };
export const zenerTolerance: Sourced = { value: 0.05, source: "from memory: the usual 5 % grade" };
/** Fraction, the larger side, by kind of capacitor. */
export const capacitorTolerance: Readonly<Record<string, Sourced>> = {
  electrolytic: { value: 0.2, source: "IEC 60062 letter M, makers' sheets of modern electrolytics" },
  film: { value: 0.1, source: "IEC 60062 letter K, common practice" },
  paper: { value: 0.2, source: "common practice" },
  ceramic: { value: 0.2, source: "common practice" },
  mica: { value: 0.05, source: "common practice" },
  unknown: { value: 0.2, source: "common practice" },
};
