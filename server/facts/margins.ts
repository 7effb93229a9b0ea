/**
 * Margins that practice keeps inside a rating: shares of the rating, by the family that `assume derate` and the options
 * name. Limits are published; these are custom, and every one says so.
 */
export interface MarginOfPractice {
  /** Share of the rating that practice allows. 1: none is kept. */
  readonly share: number;
  readonly source: string;
}

export const margins = {
  /** Dissipation, at nominal mains in a state that lasts. */
  resistor: { share: 0.5, source: "common practice: twice the dissipation" },
  /** Electrolytics, dc and ripple peak, at high mains in a state that lasts. */
  capacitor: { share: 0.9, source: "common practice: 90 % of the rating at high mains" },
  /** Film, paper, ceramic, mica; at nominal mains in a state that lasts. */
  film: { share: 0.9, source: "common practice: 90 % of the rating (one maker asks for 80 %)" },
  /** Repetitive inverse voltage of silicon at nominal mains: the rest is for transients on the mains. */
  diode: { share: 0.8, source: "common practice: a fifth left for mains transients" },
  zener: { share: 0.7, source: "common practice" },
  /** Valve limits carry their own allowance (IEC 60134): the published operations stand at them. */
  valve: { share: 1, source: "IEC 60134: the rating system has the allowance in it" },
  choke: { share: 1, source: "common practice: none beyond the rating" },
  transformer: { share: 1, source: "common practice: none beyond the rating" },
  speaker: { share: 1, source: "common practice; 1.5 to 2 times the output is usual for guitar" },
} as const satisfies Record<string, MarginOfPractice>;

export type MarginFamily = keyof typeof margins;
