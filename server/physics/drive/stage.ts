/**
 * An output stage as the quasi-static drive sees it: valve sections, the few nodes that move with the signal, and the
 * ports (nets that capacitors hold still over a cycle, and the grids' bias) behind their source resistances.
 *
 * The transformer is ideal turns with a resistive load, its losses the windings' resistances. `e` is the instantaneous
 * volts of one half of a push-pull primary, or of the whole of a single-ended one; one half (or the whole) is one turn.
 */
import type { SectionLaw } from "../device.ts";

/** A node: 0.. the moving ones; -1-k the k-th port. */
export type StageNode = number;

export const port = (index: number): StageNode => -1 - index;

export interface StageSection {
  /** `V3`, `V1.a`: readings go under `key.plate`, `key.screen`, `key.cathode`. */
  readonly key: string;
  readonly law: SectionLaw;
  /** +1: its grid rises with the signal; -1: the other half. */
  readonly side: 1 | -1;
  readonly grid: StageNode;
  readonly plate: StageNode;
  /** Absent in a triode. */
  readonly screen?: StageNode;
  readonly cathode: StageNode;
}

/** A resistance between two nodes, in series with a part of the primary. */
export interface StageBranch {
  readonly from: StageNode;
  readonly to: StageNode;
  readonly siemens: number;
  /** Turns of the primary in it: its current is siemens * (v(from) - v(to) - turns * e). */
  readonly turns: number;
}

export interface Stage {
  readonly sections: readonly StageSection[];
  readonly branches: readonly StageBranch[];
  readonly nodeCount: number;
  /** Ohms of the load at one turn: a quarter of plate-to-plate, or all of a single-ended load. Windings' copper apart. */
  readonly loadOhms: number;
  /** Part of the power in `loadOhms` that reaches the speaker (secondary resistance takes the rest). */
  readonly delivered: number;
  /** Volts of each port when it gives `portAmps`. */
  readonly portVolts: Float64Array;
  /** Average amperes drawn from each port at `portVolts`; left out: what the laws draw there without a signal. */
  readonly portAmps?: Float64Array;
  /** Volts to start the search from; left out: `portVolts`. */
  readonly portStart?: Float64Array;
  /** Source resistance among the ports: volts lost at port i per ampere drawn from port j, row-major. */
  readonly portOhms: Float64Array;
  /** Starting volts of the moving nodes. */
  readonly nodeVolts: Float64Array;
}
