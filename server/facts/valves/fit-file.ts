/** The shape of `fits.json`: the parameters of each section's law, written by `npm run fit`. Volts, amperes. */

/** Grid and cathode as a diode. */
export interface GridParameters {
  /** Amperes at one volt above the contact potential. */
  readonly perveance: number;
  readonly contactVolts: number;
  readonly widthVolts: number;
}

export interface TriodeParameters {
  readonly law: "triode";
  readonly mu: number;
  readonly x: number;
  readonly kg: number;
  readonly kp: number;
  readonly kvb: number;
  readonly grid: GridParameters;
}

export interface PentodeParameters {
  readonly law: "pentode";
  /** Screen to control grid. */
  readonly mu: number;
  /** Plate to control grid. */
  readonly mup: number;
  readonly x: number;
  readonly kg: number;
  readonly kp: number;
  /** Knee of the plate's volts: `knee` times the cathode's effective volts, plus `knee0`. */
  readonly knee: number;
  readonly knee0: number;
  /** Sharpness of the knee. */
  readonly m: number;
  /** Screen's share of the current at plate volts equal to screen volts and no bias. */
  readonly share: number;
  /** How that share lessens as the grid goes negative and focuses the current between the screen's wires. */
  readonly lean: number;
  /** How that share falls as the plate goes higher. */
  readonly fall: number;
  /** Part of the current turned back from a low plate that the screen collects. */
  readonly turned: number;
  readonly grid: GridParameters;
}

export type LawParameters = TriodeParameters | PentodeParameters;

/** By type, then by section name (one entry `""` for all sections alike). */
export type FitsFile = Readonly<Record<string, Readonly<Record<string, LawParameters>>>>;
