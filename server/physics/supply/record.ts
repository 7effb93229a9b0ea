/** A cycle that has been gone through: as the sweep holds it, and as readings want it. */
import type { Stretch } from "./steps.ts";

/** What happened at each stage of each step of a cycle: `count` stages, row-major. */
export interface CycleRecord {
  readonly count: number;
  readonly time: Float64Array;
  /** Weights of the average over the cycle (their sum is 1). */
  readonly weight: Float64Array;
  /** Mains volts. */
  readonly mains: Float64Array;
  /** States, count x nx. */
  readonly x: Float64Array;
  /** Volts and amperes of the ports, count x np. */
  readonly v: Float64Array;
  readonly i: Float64Array;
  /** How it was computed. */
  readonly stretches: readonly Stretch[];
  /** d(end)/d(start), row-major. */
  readonly endByStart: Float64Array;
}

/** As the sweep holds it, until the next one. */
export interface Passed {
  readonly steps: number;
  readonly stretches: readonly Stretch[];
  /** Seconds of each step. */
  readonly lengths: Float64Array;
  /** States before each step. */
  readonly before: Float64Array;
  /** Volts and amperes of the ports at each stage. */
  readonly v: Float64Array;
  readonly i: Float64Array;
}
