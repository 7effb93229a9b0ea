/** What a reading at the bench is worth. */
import type { Figure } from "./figure.ts";

/** Of the reading, one side. */
export const meterShare: Figure = {
  value: 0.01,
  source: "common practice: a hand-held meter and the mains reading beside it",
  evidence: "practice",
};
/** Below these a meter's last digits and a probe's pick-up say nothing. */
export const meterFloor = {
  volts: { value: 0.05, source: "common practice", evidence: "practice" },
  amps: { value: 0.1e-3, source: "common practice", evidence: "practice" },
} as const;
/** Past this share of the computed value a reading asks for service. */
export const serviceShare: Figure = {
  value: 0.2,
  source: "common practice: the ±20 % that service sheets of the time print under their voltages",
  evidence: "practice",
};
/** A share of a computed voltage below this many volts is reckoned on it instead: 0.3 V for 0.1 V is no 200 %. */
export const shareFloorVolts: Figure = { value: 1, source: "common practice", evidence: "practice" };
/** A reading past this times the highest voltage that the circuit has anywhere, in any state, is not possible. */
export const impossibleShare: Figure = { value: 1.15, source: "common practice", evidence: "practice" };

/** What tells a leaking coupling capacitor and a valve that draws nothing. Common practice. */
export const leakage = {
  /** Volts between the two sides of a coupling capacitor, or over a plate's load, that there must be to tell anything. */
  leastVolts: 20,
  /** A stopper between a grid and its leak. */
  mostStopperOhms: 100e3,
  /** A plate's load of a voltage amplifier. */
  leastLoadOhms: 10e3,
  /** Share of the supply that a plate without current stands at. */
  deadShare: 0.97,
} as const;
