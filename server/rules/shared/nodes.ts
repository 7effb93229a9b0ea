/** Which nets are one node, with the switches as they stand in a state. Kept per circuit. */

import { KeptWith } from "../../circuit/kept-with.ts";
import type { Circuit, NetIndex, Transformer } from "../../circuit/model.ts";
import { mainsSeries } from "../../facts/practice.ts";
import { type Fed, fedWindings, mainsWindings } from "../../physics/mains-windings.ts";
import type { StateName } from "../../physics/results.ts";
import { conditionsOf } from "../../physics/states.ts";
import { findTopology, type Topology } from "../../physics/topology.ts";

const kept = new KeptWith<Circuit, Map<string, Topology>>();

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

const fedKept = new KeptWith<Circuit, Map<Transformer, Fed | undefined>>();

/**
 * What of a transformer's windings the mains comes to, everything switched on and a selector where it suits; undefined where no cord
 * is written, or none comes to it.
 */
export function fedOf(circuit: Circuit, transformer: Transformer): Fed | undefined {
  let known = fedKept.get(circuit);
  if (!known) {
    known = new Map();
    fedKept.set(circuit, known);
  }
  if (!known.has(transformer)) {
    const { node, mains } = topologyOf(circuit);
    const windings = mainsWindings(circuit).get(transformer) ?? [];
    known.set(transformer, mains && fedWindings(windings, placesOf(circuit, node, mains), mains));
  }
  return known.get(transformer);
}

/** Nodes, those behind an inrush limiter or a filter's choke taken for the conductor ahead of them. */
function placesOf(
  circuit: Circuit,
  node: Int32Array,
  { active, neutral }: { readonly active: number; readonly neutral: number },
): (net: NetIndex) => number {
  const series = circuit.parts.filter(
    (part) =>
      part.kind === "thermistor" ||
      part.kind === "choke" ||
      (part.kind === "resistor" && part.ohms.value <= mainsSeries.mostOhms),
  );
  const place = new Map([
    [active, active],
    [neutral, neutral],
  ]);
  for (let grown = true; grown; ) {
    grown = false;
    for (const part of series) {
      const [a, b] = [...part.terminals.values()].map((net) => node[net]);
      if (a === -1 || b === -1) continue;
      for (const [from, to] of [
        [a, b],
        [b, a],
      ]) {
        const known = place.get(from);
        if (known === undefined || place.has(to)) continue;
        place.set(to, known);
        grown = true;
      }
    }
  }
  return (net) => place.get(node[net]) ?? node[net];
}
