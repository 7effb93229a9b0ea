/** Which nets are one node, with the switches as they stand in a state. Kept per circuit. */
import type { Circuit, NetIndex } from "../../circuit/model.ts";
import type { StateName } from "../../physics/results.ts";
import { conditionsOf } from "../../physics/states.ts";
import { findTopology, type Topology } from "../../physics/topology.ts";

const kept = new WeakMap<Circuit, Map<string, Topology>>();

/** Nets to nodes in a state (idle where left out). Node -1 is circuit common. */
export function topologyOf(circuit: Circuit, state: StateName = "idle"): Topology {
  let byState = kept.get(circuit);
  if (!byState) {
    byState = new Map();
    kept.set(circuit, byState);
  }
  let topology = byState.get(state);
  if (!topology) {
    topology = findTopology(circuit, conditionsOf(circuit, state, "nominal").positions);
    byState.set(state, topology);
  }
  return topology;
}

export const nodeOf = (circuit: Circuit, net: NetIndex, state?: StateName): number =>
  topologyOf(circuit, state).node[net];

/** True where two nets are joined by metal alone. */
export const sameNode = (circuit: Circuit, a: NetIndex, b: NetIndex): boolean => {
  const { node } = topologyOf(circuit);
  return node[a] === node[b];
};

/** Every net of the node that a net belongs to. */
export function netsWith(circuit: Circuit, net: NetIndex): readonly NetIndex[] {
  const topology = topologyOf(circuit);
  const node = topology.node[net];
  return node < 0 ? topology.commonNets : topology.nets[node];
}
