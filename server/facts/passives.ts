/** Ratings of resistors and capacitors that a file may leave out, and the steps that they are sold in. SI units. */

/** Standard wattages. Source: common practice (film parts of one maker run 1/6 to 3 W). */
export const standardWatts: readonly number[] = [0.125, 0.25, 0.5, 1, 2, 3, 5, 7, 10, 15, 20, 25, 50];

/** Film capacitor dc ratings. Source: IEC 60384-1 / R5 and R10 series, makers' sheets. */
export const filmVolts: readonly number[] = [63, 100, 160, 250, 400, 630, 1000, 1250, 1600, 2000];

/** Electrolytic ratings. Source: IEC 60063 series and trade values, makers' sheets. */
export const electrolyticVolts: readonly number[] = [
  6.3, 10, 16, 25, 35, 40, 50, 63, 100, 160, 200, 250, 315, 350, 385, 400, 450, 500,
];

/** Inverse ratings of common silicon rectifiers. Source: makers' sheets of the 1N4001 to 1N4007 family. */
export const diodeVolts: readonly number[] = [50, 100, 200, 400, 600, 800, 1000, 1300, 1600];

/** E24, IEC 60063. From memory. */
export const e24: readonly number[] = [
  1.0, 1.1, 1.2, 1.3, 1.5, 1.6, 1.8, 2.0, 2.2, 2.4, 2.7, 3.0, 3.3, 3.6, 3.9, 4.3, 4.7, 5.1, 5.6, 6.2, 6.8,
  7.5, 8.2, 9.1,
];
/** E12, IEC 60063. From memory. */
export const e12: readonly number[] = [1.0, 1.2, 1.5, 1.8, 2.2, 2.7, 3.3, 3.9, 4.7, 5.6, 6.8, 8.2];

/** Surge voltage of aluminium electrolytics over their rating. */
export const surge = {
  upToVolts: 315,
  factorUpTo: 1.15,
  factorAbove: 1.1,
  source: "IEC 60384-4, from memory (makers' sheets read: 1.10 from 400 V)",
} as const;

/** Reverse volts that an aluminium electrolytic stands. */
export const reverse = {
  volts: 1,
  briefVolts: 1.5,
  source: "IEC 60384-4 and makers' guides, from memory",
} as const;

/** Ripple rating by frequency, for ratings above 100 V; the rating itself is at 100 Hz. */
export const rippleByHertz = {
  factors: [
    [50, 0.86],
    [100, 1],
    [200, 1.13],
    [1000, 1.29],
  ] as readonly (readonly [number, number])[],
  source: "a maker's sheet of 2222-057 axial electrolytics (times 0.86 at 50 Hz, 1.13 at 200 Hz)",
} as const;

/** A ripple current below this warms no reservoir. Common practice. */
export const rippleNegligibleAmps = 0.02;

/**
 * Largest balancing resistor across each of two electrolytics in series: R(MΩ) = (2 Vm - Vb) / (0.0015 C(µF) Vb), Vm the
 * rating of one, Vb the volts across both. Source: a maker's published formula, from memory.
 */
export const balancing = {
  factor: 0.0015,
  source: "a maker's formula, (2 Vm - Vb) / (0.0015 C Vb), from memory",
} as const;

/** Two capacitors in series while they charge: from which ratio they count as alike, and how slow resistors come too late. */
export const stackCharge = {
  alike: 0.9,
  leastSeconds: 0.5,
  source: "one charge through both, V = Q / C; common practice: a string is made of two alike",
} as const;

/** Temperatures of the derating line: full power up to one, none at the other. */
export const resistorHeat: Readonly<
  Record<string, { readonly fullCelsius: number; readonly zeroCelsius: number; readonly source: string }>
> = {
  "carbon-composition": {
    fullCelsius: 70,
    zeroCelsius: 130,
    source: "makers' sheets of carbon composition; MIL-R-39008",
  },
  "carbon-film": { fullCelsius: 70, zeroCelsius: 155, source: "makers' sheets of film resistors" },
  "metal-film": { fullCelsius: 70, zeroCelsius: 155, source: "makers' sheets of film resistors" },
  "metal-oxide": { fullCelsius: 70, zeroCelsius: 235, source: "a maker's sheet of metal oxide resistors" },
  wirewound: { fullCelsius: 70, zeroCelsius: 155, source: "a maker's sheet of small cement wirewound" },
};
/** The least of the kinds, where the file doesn't say. */
export const resistorHeatUnknown = {
  fullCelsius: 70,
  zeroCelsius: 130,
  source: "the lowest of the published lines (carbon composition)",
};

/** Overload that a resistor stands for minutes, as a share of its rating. */
export const resistorPassing = {
  share: 1.5,
  source: "makers' sheets, from memory: 2.5 times the rated volts for 5 s, far more than this",
} as const;
