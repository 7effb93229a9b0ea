/** Which nodes and elements of what supplies are made of hang together: an island each. */
import { reservoirFarads } from "../../facts/supply.ts";
import { integers } from "../linear/slabs.ts";
import type { Topology } from "../topology.ts";
import type { CircuitElements, Element } from "./elements.ts";
import type { Held } from "./held.ts";
import { isHeater, isSwallowed, onMains, type Swallowed } from "./swallow.ts";
import type { WoundTransformer } from "./windings.ts";

export interface Island {
  readonly nodes: number[];
  readonly elements: Element[];
}

/** Those that anything feeds. What hangs across the mains and feeds nothing goes with the first supply there. */
export function separate(
  topology: Topology,
  all: CircuitElements,
  held: Held,
  swallowed: Swallowed,
): readonly Island[] {
  const { mains, nodeCount } = topology;
  const isMains = onMains(topology);
  const own = (node: number) => node >= 0 && !isMains(node);
  const inside = all.elements.filter((e) => isSwallowed(swallowed, e));
  const root = joined(topology, all, held, swallowed, inside, own);

  const islands = new Map<number, Island>();
  const island = (node: number): Island => {
    const r = root(node);
    let found = islands.get(r);
    if (!found) {
      found = { nodes: [], elements: [] };
      islands.set(r, found);
    }
    return found;
  };
  for (let n = 0; n < nodeCount; n++) if (swallowed.included[n] && own(n)) island(n).nodes.push(n);
  /** Where the rest of a transformer stands. */
  const besides = ({ windings }: WoundTransformer): Island | undefined => {
    for (const { winding } of windings) {
      for (const net of winding.nets) if (own(topology.node[net])) return island(topology.node[net]);
    }
    return undefined;
  };
  const mainsLoads: Element[] = [];
  for (const e of inside) {
    const a = own(e.a) ? island(e.a) : undefined;
    const b = own(e.b) ? island(e.b) : undefined;
    if (a && b && a !== b) continue;
    // A primary straight on the mains, or a winding with both ends on common, loads its core none the less.
    const place = a ?? b ?? (e.kind === "winding" ? besides(e.transformer) : undefined);
    if (place) place.elements.push(e);
    else if (isMains(e.a) || isMains(e.b)) mainsLoads.push(e);
  }

  const live = new Set<Island>();
  for (const found of islands.values()) {
    if (found.elements.some((e) => e.kind === "winding" || e.kind === "rectifier")) live.add(found);
  }
  const touchesMains = (found: Island) => found.elements.some((e) => isMains(e.a) || isMains(e.b));
  const host = [...live].find(touchesMains);
  if (host) {
    for (const other of islands.values()) {
      if (live.has(other) || !touchesMains(other)) continue;
      host.nodes.push(...other.nodes);
      host.elements.push(...other.elements);
    }
    host.elements.push(...mainsLoads);
    if (mains)
      for (const node of new Set([mains.active, mains.neutral])) if (node >= 0) host.nodes.push(node);
  }
  return [...live].filter(({ nodes }) => nodes.length > 0);
}

/**
 * Nodes that hang together: over everything but what lies between two held nodes and leaves both still; and by sharing a
 * transformer, or a part of several elements.
 * @returns the node that stands for those that a node hangs together with
 */
function joined(
  topology: Topology,
  all: CircuitElements,
  held: Held,
  { wholly }: Swallowed,
  inside: readonly Element[],
  own: (node: number) => boolean,
): (node: number) => number {
  const parent = integers(topology.nodeCount);
  for (let n = 0; n < parent.length; n++) parent[n] = n;
  const root = (n: number): number => {
    let r = n;
    while (parent[r] !== r) {
      parent[r] = parent[parent[r]];
      r = parent[r];
    }
    return r;
  };
  const join = (a: number, b: number) => {
    if (own(a) && own(b)) parent[root(a)] = root(b);
  };
  const still = (node: number) => node < 0 || held.has(node);
  const weak = (e: Element) =>
    (e.kind === "resistance" ||
      (e.kind === "capacitor" && e.farads < reservoirFarads) ||
      e.kind === "choke" ||
      e.kind === "open") &&
    still(e.a) &&
    still(e.b) &&
    !(held.isClose(e, e.a) || held.isClose(e, e.b));
  for (const e of inside) if (!weak(e)) join(e.a, e.b);

  /** Joins each node that comes to the first of its own. */
  const together = () => {
    let first = -1;
    return (node: number) => {
      if (!own(node)) return;
      if (first < 0) first = node;
      else join(first, node);
    };
  };
  for (const { windings } of all.transformers) {
    const add = together();
    for (const { winding } of windings) for (const net of winding.nets) add(topology.node[net]);
  }
  // A pot or a bridge is one part.
  for (const reference of wholly) {
    const elements = all.byPart.get(reference)!;
    if (elements.length < 2) continue;
    const add = together();
    for (const e of elements) {
      if (isHeater(e)) continue;
      add(e.a);
      add(e.b);
    }
  }
  return root;
}
