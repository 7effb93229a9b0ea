/** The resistance that a capacitor on the mains side finds across itself with the plug out. */
import type { Capacitor, NetIndex, Part } from "../../circuit/model.ts";
import type { MainsSide, Positions } from "./graph.ts";

interface Link {
  readonly a: NetIndex;
  readonly b: NetIndex;
  readonly ohms: number;
}

export interface Charged {
  /** All that are joined at both ends in this combination. */
  readonly capacitors: readonly Capacitor[];
  /** Between their ends, through everything but capacitors and neon lamps; Infinity where nothing joins them. */
  readonly ohms: number;
  readonly positions: Positions;
}

/** The capacitors in one combination of switch positions, those side by side together, each group with its bleed. */
export function charged(side: MainsSide, capacitors: readonly Capacitor[], positions: Positions): Charged[] {
  const { root, links } = network(side, positions);
  const groups = new Map<string, Capacitor[]>();
  for (const capacitor of capacitors) {
    const [a, b] = [...capacitor.terminals.values()].map(root).sort((x, y) => x - y);
    // Shorted by what stands beside it, it holds no charge.
    if (a === b) continue;
    groups.set(`${a} ${b}`, [...(groups.get(`${a} ${b}`) ?? []), capacitor]);
  }
  return [...groups.values()].map((group) => {
    const [a, b] = [...group[0].terminals.values()].map(root);
    return { capacitors: group, ohms: between(a, b, links), positions };
  });
}

/** Nets that only conduct to each other made one, and the resistances between them. */
function network(side: MainsSide, positions: Positions) {
  const merged = new Map<NetIndex, NetIndex>();
  const root = (net: NetIndex): NetIndex => {
    let at = net;
    for (let up = merged.get(at); up !== undefined; up = merged.get(at)) at = up;
    return at;
  };
  const links: Link[] = [];
  for (const [net, edges] of side.edges) {
    for (const edge of edges) {
      const ohms = ohmsOf(edge.part, net, edge.to);
      if (ohms === undefined) continue;
      if (edge.closedIn && !edge.closedIn.has(positions.get(edge.part.reference) ?? "")) continue;
      if (ohms > 0) {
        // Each link is met from both ends, and from one only where the other end is metal.
        if (net < edge.to || side.earthy.has(edge.to)) links.push({ a: net, b: edge.to, ohms });
      } else if (root(net) !== root(edge.to)) merged.set(root(net), root(edge.to));
    }
  }
  return { root, links: links.map((link) => ({ ...link, a: root(link.a), b: root(link.b) })) };
}

/** Ohms of the way through a part; 0 for what only conducts, undefined for what does not pass a direct current. */
function ohmsOf(part: Part, from: NetIndex, to: NetIndex): number | undefined {
  switch (part.kind) {
    case "wire":
    case "bond":
    case "fuse":
    case "switch":
    case "choke":
      return 0;
    case "thermistor":
    case "resistor":
    case "pot":
      return Math.max(part.ohms.value, 1e-3);
    case "lamp":
      if (part.neon) return undefined;
      if (part.volts && part.watts) return part.volts.value ** 2 / part.watts.value;
      if (part.volts && part.amps) return part.volts.value / part.amps.value;
      return 1000;
    case "transformer": {
      const row = [part.primary, ...part.secondaries].find(
        (w) => w?.nets.includes(from) && w.nets.includes(to),
      );
      return row && Math.max(row.ohms.value / Math.max(1, row.nets.length - 1), 1e-3);
    }
    default:
      return undefined;
  }
}

/** Resistance of a small network between two of its nodes, by eliminating the others one after the other. */
function between(a: NetIndex, b: NetIndex, links: readonly Link[]): number {
  if (a === b) return 0;
  const conductance = new Map<NetIndex, Map<NetIndex, number>>();
  const add = (from: NetIndex, to: NetIndex, siemens: number) => {
    const row = conductance.get(from) ?? new Map<NetIndex, number>();
    row.set(to, (row.get(to) ?? 0) + siemens);
    conductance.set(from, row);
  };
  for (const link of links) {
    if (link.a === link.b) continue;
    add(link.a, link.b, 1 / link.ohms);
    add(link.b, link.a, 1 / link.ohms);
  }
  // Star to mesh, node by node: what is left between the two terminals is their resistance.
  for (const node of [...conductance.keys()]) {
    if (node === a || node === b) continue;
    const row = [...(conductance.get(node) ?? [])];
    const sum = row.reduce((total, [, siemens]) => total + siemens, 0);
    conductance.delete(node);
    for (const [other] of row) conductance.get(other)?.delete(node);
    for (let i = 0; i < row.length; i++) {
      for (let j = i + 1; j < row.length; j++) {
        const siemens = (row[i][1] * row[j][1]) / sum;
        add(row[i][0], row[j][0], siemens);
        add(row[j][0], row[i][0], siemens);
      }
    }
  }
  const siemens = conductance.get(a)?.get(b) ?? 0;
  return siemens > 0 ? 1 / siemens : Number.POSITIVE_INFINITY;
}
