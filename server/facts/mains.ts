/** Figures for the mains side and the protective earth, each with where it comes from. SI units. */
import type { Region } from "../circuit/model.ts";

export interface Figure {
  readonly value: number;
  /** Publication and clause, and how it is known: read, from memory, or common practice. */
  readonly source: string;
}

/** Does the region's usual earthed plug go in one way only? */
export const plugPolarised: Readonly<
  Record<Region, { readonly polarised: boolean; readonly source: string }>
> = {
  AU: { polarised: true, source: "AS/NZS 3112: active, neutral and earth pins fix the plug" },
  NZ: { polarised: true, source: "AS/NZS 3112: active, neutral and earth pins fix the plug" },
  UK: { polarised: true, source: "BS 1363, from memory" },
  EU: { polarised: false, source: "CEE 7/4 and 7/7 plugs go in either way round" },
  CH: { polarised: true, source: "SN 441011 (three pins off their line), from memory" },
  US: { polarised: true, source: "NEMA 5-15: the earth pin fixes the plug; NEMA 1-15 by its wide blade" },
  CA: { polarised: true, source: "NEMA 5-15: the earth pin fixes the plug; NEMA 1-15 by its wide blade" },
  JP: { polarised: false, source: "JIS C 8303: two-pin outlets, many of them older and not polarised" },
};

export type Conductor = "active" | "neutral" | "earth";

export interface ColourScheme {
  readonly name: string;
  readonly colours: Readonly<Record<Conductor, readonly string[]>>;
  readonly source: string;
}

const harmonised: ColourScheme = {
  name: "brown, blue, green-yellow",
  colours: { active: ["brown"], neutral: ["blue", "light-blue"], earth: ["green-yellow"] },
  source: "IEC 60445",
};
const northAmerican: ColourScheme = {
  name: "black, white, green",
  colours: { active: ["black"], neutral: ["white", "grey"], earth: ["green", "green-yellow", "bare"] },
  source: "NEC article 400, from a maker's table",
};
const japanese: ColourScheme = {
  name: "black, white, green",
  colours: { active: ["black"], neutral: ["white", "grey"], earth: ["green", "green-yellow"] },
  source: "Japanese practice, from memory",
};
const beforeHarmonising: ColourScheme = {
  name: "red, black, green",
  colours: { active: ["red"], neutral: ["black"], earth: ["green", "green-yellow"] },
  source: "old British, Australian and New Zealand cords",
};

/** The cord's colours by region: today's, and complete older or foreign sets that are met there and read without doubt. */
export const cordColours: Readonly<
  Record<Region, { readonly today: ColourScheme; readonly met: readonly ColourScheme[] }>
> = {
  AU: { today: harmonised, met: [beforeHarmonising] },
  NZ: { today: harmonised, met: [beforeHarmonising] },
  UK: { today: harmonised, met: [beforeHarmonising] },
  EU: { today: harmonised, met: [] },
  CH: { today: harmonised, met: [] },
  US: { today: northAmerican, met: [harmonised] },
  CA: { today: northAmerican, met: [harmonised] },
  JP: { today: japanese, met: [harmonised] },
};
export const everyColourScheme: readonly ColourScheme[] = [harmonised, northAmerican, beforeHarmonising];

/** Current that a flexible cord of a cross-section carries, smallest first. */
export interface CordRow {
  readonly squareMetres: number;
  readonly amps: number;
}
const iecCord: readonly CordRow[] = [
  { squareMetres: 0.5e-6, amps: 3 },
  { squareMetres: 0.75e-6, amps: 6 },
  { squareMetres: 1.0e-6, amps: 10 },
  { squareMetres: 1.25e-6, amps: 13 },
  { squareMetres: 1.5e-6, amps: 16 },
  { squareMetres: 2.5e-6, amps: 25 },
];
export const cordAmpacity: {
  readonly regions: Readonly<
    Partial<Record<Region, { readonly rows: readonly CordRow[]; readonly source: string }>>
  >;
  readonly other: { readonly rows: readonly CordRow[]; readonly source: string };
} = {
  regions: {
    AU: {
      rows: iecCord.map((row) => (row.squareMetres === 0.75e-6 ? { ...row, amps: 7.5 } : row)),
      source: "AS/NZS 3191 (1.0 and 1.5 mm² read second-hand, the rest from memory)",
    },
    NZ: {
      rows: iecCord.map((row) => (row.squareMetres === 0.75e-6 ? { ...row, amps: 7.5 } : row)),
      source: "AS/NZS 3191 (1.0 and 1.5 mm² read second-hand, the rest from memory)",
    },
    UK: { rows: iecCord, source: "British guidance on flexes (BS 6500 and BS 7919 cords)" },
    US: {
      rows: [
        { squareMetres: 0.82e-6, amps: 10 },
        { squareMetres: 1.31e-6, amps: 13 },
        { squareMetres: 2.08e-6, amps: 18 },
      ],
      source: "NEC article 400, 18, 16 and 14 AWG with two loaded conductors, from memory",
    },
    CA: {
      rows: [
        { squareMetres: 0.82e-6, amps: 10 },
        { squareMetres: 1.31e-6, amps: 13 },
        { squareMetres: 2.08e-6, amps: 18 },
      ],
      source: "NEC article 400, 18, 16 and 14 AWG with two loaded conductors, from memory",
    },
  },
  other: { rows: iecCord, source: "IEC 62368-1 annex G.7, from memory" },
};

/** No cord for the mains is thinner, whatever little the appliance draws. */
export const thinnestCord = {
  squareMetres: 0.5e-6,
  source: "IEC 62368-1 annex G.7 and AS/NZS 3191, from memory: 0.5 mm² up to 3 A",
};

/** IEC 60127 preferred ratings, amperes (R10 series). */
export const fuseSeries: readonly number[] = [
  0.032, 0.04, 0.05, 0.063, 0.08, 0.1, 0.125, 0.16, 0.2, 0.25, 0.315, 0.4, 0.5, 0.63, 0.8, 1, 1.25, 1.6, 2,
  2.5, 3.15, 4, 5, 6.3, 8, 10, 12.5, 16, 20,
];
/** Ratings of the American 1/4 by 1 1/4 inch fuses, amperes; from memory. */
export const fuseSeriesAmerican: readonly number[] = [
  0.0625, 0.125, 0.25, 0.375, 0.5, 0.75, 1, 1.5, 2, 2.5, 3, 4, 5, 6, 7, 8, 10,
];

export const fuseFigures = {
  /** Least fuse rating over running primary current. */
  least: { value: 1.25, source: "common practice (1.25 to 2.5 times the running primary current)" },
  /** UL 248-14 parts are not loaded continuously past this share of their marking. */
  leastAmerican: { value: 1 / 0.75, source: "UL 248-14 guidance: 75 % of the marked current" },
  /** Largest fuse rating over the transformer's rated primary current. */
  most: {
    value: 2.5,
    source: "common practice (1.25 to 2.5 times the primary current, next standard value up)",
  },
  /** Past this no published rule allows it. */
  bound: { value: 5, source: "NEC practice for control transformers below 2 A: 500 % of full-load current" },
  /** What a fuse holds for an hour at least, over its rating: past it the fuse goes. */
  gate: {
    value: 1.5,
    source: "IEC 60127-2: 1.5 times its rating for an hour at least, 2.1 times for 2 min at most",
  },
  gateAmerican: { value: 1.35, source: "UL 248-14: opens within an hour at 1.35 times its rating" },
  inrush: { value: 25, source: "a maker's guide to control transformers: 25 to 40 times full-load current" },
} as const;

/** Largest capacitance across the pins that needs no discharge path. */
export const bleedExemptFarads: Figure = { value: 0.1e-6, source: "IEC 60065 9.1.6, from memory" };
/** Volts that the pins must have fallen to, and by when. */
export const bleedVolts: Figure = { value: 60, source: "IEC 60065 9.1.6 and IEC 62368-1 5.5.2.2" };
export const bleedSeconds: Figure = { value: 2, source: "IEC 60065 9.1.6 and IEC 62368-1 5.5.2.2" };

/** What a resistor from the mains to the metal may pass and be no more than a drain for static charge. */
export const staticBleed = { amps: 0.1e-3, source: "common practice: megohms" } as const;

const touchAmerican: Figure = { value: 0.5e-3, source: "ANSI C101 and UL, portable apparatus" };
const touch: Figure = { value: 3.5e-3, source: "IEC 60950-1 table 5A, class I with the earth open" };
/** Leakage from the mains to the earthed metal, amperes rms. */
export const touchCurrent = (region: Region | undefined): Figure =>
  region === "US" || region === "CA" ? touchAmerican : touch;

/** Direct volts that may be touched, and the direct current below which more volts may be. */
export const touchDirect = {
  volts: 60,
  amps: 2e-3,
  source: "IEC 62368-1 5.2.2.2, class ES1: 60 V dc, or 2 mA dc; from memory",
} as const;

/** A class Y4 capacitor is for supplies below this. */
export const y4Volts: Figure = { value: 150, source: "IEC 60384-14, from a design note" };

/** How far a primary's volts may stand below and above the supply's, as fractions. */
export const primaryOff = {
  below: { value: 0.03, source: "common practice: a 117 V winding on 120 V is passed, 115 V is not" },
  above: { value: 0.05, source: "the heaters' own ±5 %, common practice" },
} as const;

/** How much longer than the active and the neutral the earth core is left. */
export const earthSlackMetres: Figure = { value: 0.02, source: "common practice: 20 mm or more of slack" };

/** Rectifiers of a lift between circuit common and chassis, amperes: they must hold until the mains fuse has blown. */
export const liftAmps: Figure = {
  value: 10,
  source: "common practice: a bridge of 10 A or more, often 25 to 35 A",
};

/** Below this a lift's rectifiers do not outlast the fuse; between the two they may. */
export const liftAmpsLeast: Figure = {
  value: 3,
  source: "common practice: a 3 A rectifier stands a surge of some 200 A",
};

/** Limits of the safety test by region. */
export const safetyTest = {
  /** Earth continuity from the plug's earth pin to the metal, ohms, cord included. */
  continuity: (region: Region | undefined): Figure => {
    switch (region) {
      case "AU":
      case "NZ":
        return { value: 1, source: "AS/NZS 3760: 1 Ω from the plug's earth pin, cord included" };
      case "EU":
      case "CH":
        return { value: 0.3, source: "EN 50699: 0.3 Ω with a cord up to 5 m, from memory" };
      case "UK":
        return {
          value: 0.2,
          source: "British code of practice: 0.1 Ω and the cord's own (taken as 0.1 Ω), from memory",
        };
      default:
        return { value: 0.2, source: "IEC 60335-1 27.5: 0.1 Ω, 0.2 Ω with the cord, from memory" };
    }
  },
  /** Insulation of live parts to earthed metal, ohms, at 500 V dc. */
  insulation: {
    value: 1e6,
    source: "AS/NZS 3760, class I at 500 V dc (EN 50699 and the British code the same)",
  } as Figure,
  leakage: (region: Region | undefined): Figure => {
    if (region === "AU" || region === "NZ") return { value: 5e-3, source: "AS/NZS 3760:2003, class I" };
    return touchCurrent(region);
  },
} as const;

/** The smallest rated current that a miniature fuse is made for. */
export const miniatureFuse = {
  leastMilliamperes: 32,
  source: "IEC 60127-2, from memory: 32 mA to 10 A",
} as const;
