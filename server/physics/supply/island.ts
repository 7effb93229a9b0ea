/**
 * Where the direct-current solution and the rectifier supplies meet. An island is a piece of the circuit that carries
 * alternating volts: transformer windings, rectifiers, what hangs on them, up to the nets where only direct volts with
 * ripple are left. To the dc solver it is one device; afterwards it tells what happens inside.
 *
 * Node numbers are those of `Topology` (server/physics/topology.ts): ideal conductors already merged, switches standing as the
 * conditions have them, -1 for circuit common. `topology.node[net]` is the node of a net.
 *
 * Agreement:
 *  - Islands never share a part or an inner node. Two windings of one transformer belong to one island.
 *  - Every part outside all islands is stamped by the dc solver, and every node that is not inner is its unknown. A boundary
 *    node may be -1. A node that a device outside the island touches at dc is a boundary node, never an inner one.
 *  - A capacitor from a boundary node belongs to the island (swallowed, and its readings told) when the island needs it for
 *    its steady state: the reservoirs. Every other capacitor stays outside, where it is open at dc.
 *  - `device.evaluate` is called with average volts at the boundary nodes (any volts: Newton strays) and must give finite numbers
 *    and a Jacobian that is not singular at rest: a rectifier that blocks has a leakage.
 *  - The device's terminals are taken as joined by a dc path, unless `device.paths` says which are.
 *  - The mains' neutral is earthed outside: `topology.mains.neutral` counts as tied to common (it carries nothing), so that mains
 *    nodes are never floating: average 0 V, the active with the mains' rms volts, the neutral with none.
 *  - Capacitors in series to common (two cans with balancing resistors) are a reservoir too; their joint is then swallowed, or held
 *    by both.
 *  - With no cord and no inlet in the file every primary is fed by `conditions.mainsVolts`; otherwise only what reaches
 *    `topology.mains` is.
 */
import type { Circuit } from "../../circuit/model.ts";
import type { DcDevice } from "../device.ts";
import type { ReadingName } from "../results.ts";
import type { Conditions } from "../states.ts";
import type { Topology } from "../topology.ts";
import type { Around } from "./inrush.ts";

export type Readings = Partial<Record<ReadingName, number>>;

export interface IslandResult {
  /** Average volts from common of every inner node (boundary nodes are the solver's). NaN where nothing fixes it. */
  readonly nodeVolts: ReadonlyMap<number, number>;
  /** Peak-to-peak volts, highest and lowest instantaneous volts, rms of the alternating part: boundary and inner nodes. */
  readonly ripple: ReadonlyMap<number, number>;
  readonly peak: ReadonlyMap<number, number>;
  readonly trough: ReadonlyMap<number, number>;
  readonly rms: ReadonlyMap<number, number>;
  /** Fundamental of the ripple at the boundary nodes: hertz, for the phasor solve at later nets. */
  readonly rippleHertz?: number;
  /** By the keys of `results.ts`, for every swallowed part and for heaters fed from here. */
  readonly readings: ReadonlyMap<string, Readings>;
  /** Peak of each rectifying element, by key, switched on hot into empty reservoirs. */
  hotSwitch?(around: Around): ReadonlyMap<string, number>;
  /** Sentences: which key or net rests on which estimate. */
  readonly estimates: readonly string[];
  /** A node of `innerNodes` that nothing ties to common at dc (a heater winding without a centre tap). */
  readonly floating?: readonly number[];
  readonly trouble?: { readonly message: string; readonly nodes: readonly number[] };
  /** What is odd about it, though it was solved: a winding shorted, the mains joined. */
  readonly notes?: readonly { readonly message: string; readonly nodes: readonly number[] }[];
  /**
   * For bands: how a reading moves. `dx` by the device's unknowns (terminal volts, then branches), `dp` by each of
   * `device.parameters` per d(ln value). Undefined where it is not known.
   */
  gradient?(
    key: string,
    reading: ReadingName,
  ): { readonly dx: Float64Array; readonly dp: Float64Array } | undefined;
  /** The same for the average volts of an inner node. */
  nodeGradient?(node: number): { readonly dx: Float64Array; readonly dp: Float64Array } | undefined;
}

export interface SupplyIsland {
  readonly device: DcDevice;
  /** References of the parts inside: the dc solver stamps none of them. A valve whose heater alone is fed from here is not
   *  swallowed: it goes into `heaters`. */
  readonly parts: ReadonlySet<string>;
  /** References of the valves and lamps whose heaters are loads of this island. */
  readonly heaters: ReadonlySet<string>;
  /** Nodes wholly inside. */
  readonly innerNodes: readonly number[];
  /** The part of a node's ripple that stands across a resistor which leads on from it to something outside. */
  rippleShare?(key: string, from: number): number;
  /**
   * Makes sure that the device's straight line stands for the steady state at x, not for a guess of it.
   * @param x the device's unknowns: terminal volts, then branches
   * @returns whether it had to look anew, so that the line is another now
   */
  look(x: Float64Array): boolean;
  /**
   * @param x the same, at the solution
   * @returns with the result, whether that took another look
   */
  finish(x: Float64Array): { readonly result: IslandResult; readonly anew: boolean };
}

/** Exported as `findSupplies` by `server/physics/supply/index.ts`. Never throws; gives [] for a circuit without supplies. */
export type FindSupplies = (
  circuit: Circuit,
  topology: Topology,
  conditions: Conditions,
) => readonly SupplyIsland[];

/** A solved network, for the phasor solve of the ripple at later nets. */
export interface SolvedNetwork {
  readonly circuit: Circuit;
  readonly topology: Topology;
  readonly conditions: Conditions;
  /** Average volts by node; NaN where floating. */
  readonly nodeVolts: Float64Array;
  /** Everything stamped outside the islands. `x` and `jac` as in `DcDevice.evaluate`, at the solution. */
  readonly elements: readonly {
    readonly device: DcDevice;
    readonly x: Float64Array;
    readonly jac: Float64Array;
  }[];
  readonly islands: readonly {
    readonly island: SupplyIsland;
    readonly x: Float64Array;
    readonly result: IslandResult;
    /** Amperes into each terminal of its device. */
    readonly amps: Float64Array;
  }[];
}

/** Exported as `laterRipple` by `server/physics/supply/ripple.ts`: peak-to-peak ripple by node, 0 where there is none. */
export type LaterRipple = (solved: SolvedNetwork) => Float64Array;
