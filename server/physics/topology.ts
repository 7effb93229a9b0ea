/**
 * Nets to nodes: ideal conductors (wire, bond, fuse, closed switch, jack contact…) merged, circuit common chosen.
 */
import type { Circuit, NetIndex } from "../circuit/model.ts";

export interface Topology {
  readonly circuit: Circuit;
  /** Position of each switch by reference; nothing else of the conditions changes the nodes. */
  readonly positions: ReadonlyMap<string, string>;
  /** Node by net index; -1 is circuit common. */
  readonly node: Int32Array;
  readonly nodeCount: number;
  /** Nets of each node, ascending. */
  readonly nets: readonly (readonly NetIndex[])[];
  readonly commonNets: readonly NetIndex[];
  /** The net that stands for circuit common, and the sentence that says so where it is not `gnd`. */
  readonly common: { readonly net: NetIndex; readonly told?: string };
  /** Nodes of the cord's (or inlet's) active and neutral; absent without one. */
  readonly mains?: { readonly active: number; readonly neutral: number };
}
