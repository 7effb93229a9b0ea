/**
 * Which of a transformer's windings stand on the mains. Mostly the primary alone; a transformer for two mains voltages has two of
 * them, put in series or side by side, and only one can be called `primary`: the others are known by what they are wired to.
 */

import { KeptWith } from "../circuit/kept-with.ts";
import type { Circuit, NetIndex, Transformer, Winding } from "../circuit/model.ts";
import { mainsSeries } from "../facts/practice.ts";

const kept = new KeptWith<Circuit, ReadonlyMap<Transformer, readonly Winding[]>>();

/** By transformer, the primary first; whatever position any switch is in. */
export function mainsWindings(circuit: Circuit): ReadonlyMap<Transformer, readonly Winding[]> {
  let found = kept.get(circuit);
  if (!found) {
    found = find(circuit);
    kept.set(circuit, found);
  }
  return found;
}

function find(circuit: Circuit): ReadonlyMap<Transformer, readonly Winding[]> {
  const transformers = circuit.parts.filter(
    (part): part is Transformer => part.kind === "transformer" && part.primary !== undefined,
  );
  const found = new Map<Transformer, readonly Winding[]>();
  const feeds = circuit.parts.flatMap((part) =>
    part.kind === "cord" || part.kind === "inlet"
      ? [part.leads.get("active")?.net, part.leads.get("neutral")?.net]
      : [],
  );
  // The whole is worth its while only where a winding besides the primary could be one.
  const joined = transformers.some(({ secondaries }) => secondaries.length > 0) ? joinedNets(circuit) : [];
  const root = (net: NetIndex): number => joined[net] ?? net;
  const apart = new Set(
    [circuit.ground, circuit.chassis].flatMap((net) => (net === undefined ? [] : root(net))),
  );
  const grow = (live: Set<number>, those: readonly Transformer[]): void => {
    for (let grown = true; grown; ) {
      grown = false;
      for (const part of those) {
        for (const winding of part.secondaries) {
          const own = found.get(part) ?? [];
          if (own.includes(winding) || winding.refused) continue;
          const roots = winding.nets.map(root).filter((one) => !apart.has(one));
          if (!roots.some((one) => live.has(one))) continue;
          found.set(part, [...own, winding]);
          for (const one of roots) live.add(one);
          grown = true;
        }
      }
    }
  };
  const fed = feeds.filter((net): net is NetIndex => net !== undefined);
  const live = new Set(fed.map(root).filter((one) => !apart.has(one)));
  for (const part of transformers) {
    const { primary } = part;
    if (!primary) continue;
    found.set(part, [primary]);
    const roots = primary.nets.map(root).filter((one) => !apart.has(one));
    // Without a cord each transformer's primary is its own beginning; with one, what the cord comes to.
    if (fed.length === 0) grow(new Set(roots), [part]);
    else if (roots.some((one) => live.has(one))) for (const one of roots) live.add(one);
  }
  if (fed.length > 0) grow(live, transformers);
  return found;
}

/** The net that stands for each, what carries mains current joined: fuses, switches in every position, inrush limiters, chokes. */
export function joinedNets(circuit: Circuit): Int32Array {
  const parent = Int32Array.from({ length: circuit.nets.length }, (_, net) => net);
  const top = (net: NetIndex): number => {
    let at = net;
    while (parent[at] !== at) {
      parent[at] = parent[parent[at]];
      at = parent[at];
    }
    return at;
  };
  const join = (nets: Iterable<NetIndex | undefined>): void => {
    let first: NetIndex | undefined;
    for (const net of nets) {
      if (net === undefined) continue;
      if (first === undefined) first = net;
      else parent[top(net)] = top(first);
    }
  };
  for (const part of circuit.parts) {
    if (part.kind === "switch")
      for (const { common, throws } of part.poles) join([common, ...throws.values()]);
    else if (["wire", "bond", "fuse", "thermistor", "choke"].includes(part.kind))
      join(part.terminals.values());
    else if (part.kind === "resistor" && part.ohms.value <= mainsSeries.mostOhms)
      join(part.terminals.values());
  }
  return parent.map((_, net) => top(net));
}

/**
 * Rated volts of what stands between two places of joined windings, each as it is turned; undefined where they lead from one to the
 * other in no way, or stand at one place.
 * @param place what a net is joined to: nets of one place are one
 */
export function voltsBetween(
  windings: readonly Winding[],
  place: (net: NetIndex) => number,
  from: number,
  to: number,
): number | undefined {
  const volts = new Map<number, number>([[from, 0]]);
  for (const [at, here] of volts) {
    for (const { nets, segmentVolts } of windings) {
      for (const [k, segment] of segmentVolts.entries()) {
        const [a, b] = [place(nets[k]), place(nets[k + 1])];
        if (a === at && !volts.has(b)) volts.set(b, here + Math.abs(segment));
        else if (b === at && !volts.has(a)) volts.set(a, here - Math.abs(segment));
      }
    }
  }
  const found = Math.abs(volts.get(to) ?? 0);
  return found > 0 ? found : undefined;
}

/** What a transformer offers the mains as it stands: rated volts between active and neutral, and the ohms of the copper there. */
export interface Fed {
  readonly volts: number;
  readonly ohms: number;
}

/** @param node what each net is merged into, with the switches as they stand @param mains nodes of active and neutral */
export function fedWindings(
  windings: readonly Winding[],
  node: (net: NetIndex) => number,
  mains: { readonly active: number; readonly neutral: number },
): Fed | undefined {
  const volts = voltsBetween(windings, node, mains.active, mains.neutral);
  if (volts === undefined) return undefined;
  const edges = windings.flatMap(({ nets, segmentVolts, ohms }) => {
    const all = segmentVolts.reduce((sum, segment) => sum + Math.abs(segment), 0) || 1;
    return segmentVolts.map((segment, k) => ({
      a: node(nets[k]),
      b: node(nets[k + 1]),
      ohms: Math.max((ohms.value * Math.abs(segment)) / all, 1e-6),
    }));
  });
  return { volts, ohms: ohmsBetween(edges, mains.active, mains.neutral) };
}

/** Of a few resistances between two nodes: nodes in between are taken out one after another. */
function ohmsBetween(
  all: readonly { readonly a: number; readonly b: number; readonly ohms: number }[],
  from: number,
  to: number,
): number {
  const siemens = new Map<number, Map<number, number>>();
  const add = (a: number, b: number, value: number): void => {
    for (const [one, other] of [
      [a, b],
      [b, a],
    ]) {
      const row = siemens.get(one) ?? new Map<number, number>();
      row.set(other, (row.get(other) ?? 0) + value);
      siemens.set(one, row);
    }
  };
  for (const { a, b, ohms } of all) if (a !== b) add(a, b, 1 / ohms);
  for (const node of [...siemens.keys()]) {
    if (node === from || node === to) continue;
    const row = [...(siemens.get(node) ?? [])];
    const sum = row.reduce((total, [, value]) => total + value, 0);
    siemens.delete(node);
    for (const [other] of row) siemens.get(other)?.delete(node);
    for (const [i, [a, first]] of row.entries())
      for (const [b, second] of row.slice(i + 1)) add(a, b, (first * second) / sum);
  }
  return 1 / (siemens.get(from)?.get(to) ?? Number.POSITIVE_INFINITY);
}
