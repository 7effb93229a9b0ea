/**
 * What a fit leans on where a sheet says little: a start for each parameter, and how far (as a part of itself) the
 * sheet's points have to pull before it moves by its own width. Source: from memory of fitted families of curves;
 * knee and share figures by reading the printed rows of the better documented types.
 */
export interface Prior {
  readonly name: string;
  readonly start: number;
  /** Standard deviation of the logarithm. */
  readonly width: number;
  readonly least: number;
  readonly most: number;
}

export const triodePriors: readonly Prior[] = [
  { name: "mu", start: 50, width: 2, least: 1.2, most: 200 },
  { name: "x", start: 1.4, width: 0.035, least: 1.15, most: 1.7 },
  { name: "kg", start: 1500, width: 3, least: 20, most: 20000 },
  { name: "kp", start: 300, width: 1.0, least: 10, most: 3000 },
  { name: "kvb", start: 300, width: 1.5, least: 1, most: 30000 },
];

const pentodeCommon: readonly Prior[] = [
  { name: "mu", start: 10, width: 2, least: 3, most: 80 },
  { name: "mup", start: 200, width: 2, least: 20, most: 50000 },
  { name: "x", start: 1.4, width: 0.08, least: 1.15, most: 1.7 },
  { name: "kg", start: 800, width: 3, least: 20, most: 20000 },
  { name: "kp", start: 40, width: 0.7, least: 4, most: 400 },
];

export const beamPriors: readonly Prior[] = [
  ...pentodeCommon,
  { name: "knee", start: 0.8, width: 0.5, least: 0.05, most: 5 },
  { name: "knee0", start: 6, width: 0.5, least: 1, most: 40 },
  { name: "m", start: 3, width: 0.4, least: 0.8, most: 8 },
  { name: "share", start: 0.07, width: 1, least: 0.005, most: 0.35 },
  { name: "lean", start: 0.5, width: 0.7, least: 0.02, most: 1.5 },
  { name: "fall", start: 0.6, width: 0.8, least: 0.01, most: 1.8 },
  { name: "turned", start: 0.35, width: 0.5, least: 0.02, most: 0.9 },
];

export const pentodePriors: readonly Prior[] = [
  ...pentodeCommon,
  { name: "knee", start: 0.8, width: 0.5, least: 0.05, most: 5 },
  { name: "knee0", start: 6, width: 0.5, least: 1, most: 40 },
  { name: "m", start: 2, width: 0.4, least: 0.8, most: 8 },
  { name: "share", start: 0.14, width: 1, least: 0.01, most: 0.35 },
  { name: "lean", start: 0.3, width: 0.7, least: 0.02, most: 1.5 },
  { name: "fall", start: 0.4, width: 0.8, least: 0.01, most: 1.8 },
  { name: "turned", start: 0.4, width: 0.5, least: 0.02, most: 0.9 },
];
