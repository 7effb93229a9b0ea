/**
 * What belongs to a supply: starting from a transformer's windings, over windings, rectifiers, resistors, capacitors, chokes and
 * heaters, as far as the nets where a reservoir holds the volts still. Never through a valve that amplifies.
 */
import type { Circuit } from "../../circuit/model.ts";
import { reservoirFarads } from "../../facts/supply.ts";
import type { Topology } from "../topology.ts";
import type { CircuitElements, Element } from "./elements.ts";
import type { WoundTransformer } from "./windings.ts";

/** A node that something outside touches, and what stands there for ripple: the outside's own nodes taken as still. */
export interface Boundary {
  readonly node: number;
  /** Of the resistors that lead on. */
  readonly siemens: number;
  /**
   * Of what leads on to the next reservoirs, at the ripple's frequency: the capacitance that chokes take from this one, less what
   * resistors lend it.
   */
  readonly farads: number;
}

export interface IslandPlan {
  /** Nodes of the island, ascending; without circuit common. */
  readonly nodes: readonly number[];
  readonly elements: readonly Element[];
  /** References of the parts inside. */
  readonly parts: ReadonlySet<string>;
  /** References of valves and lamps whose heaters load it. */
  readonly heaters: ReadonlySet<string>;
  /** Nodes that something outside touches, with the conductance of the resistors there. */
  readonly boundary: readonly Boundary[];
  readonly inner: readonly number[];
  /** Where the mains volts stand: pairs of nodes. */
  readonly feeds: readonly { readonly a: number; readonly b: number; readonly primary?: string }[];
  /** Transformers without a primary: driven at their open-circuit volts, by the nominal mains. */
  readonly bare: readonly { readonly transformer: WoundTransformer; readonly nominalVolts: number }[];
  /** What is odd about it. */
  readonly notes: readonly { readonly message: string; readonly nodes: readonly number[] }[];
}

/** More than this for each transformer is no supply: growth stops, and what is left is seen as a load. */
const mostNodes = 120;
/** Resistance into a second reservoir, as a part of that reservoir's reactance at twice the mains: closer ones share the ripple. */
const closeFilter = 12;
/** A choke that takes a larger part of a reservoir's capacitance at the ripple's frequency shares its ripple. */
const closeChoke = 0.02;
/** The same of a resistor that lends a larger part of the next reservoir; what it lends is left out below the least. */
const closeLent = 0.05;
const leastLent = 0.005;

export function growIslands(circuit: Circuit, topology: Topology, all: CircuitElements): IslandPlan[] {
  const { nodeCount } = topology;
  const { hertz } = circuit.mains;
  const mains = topology.mains;
  const isMains = (node: number) => mains !== undefined && (node === mains.active || node === mains.neutral);
  const held = heldNodes(all);
  const orders = rippleOrders(all, held);
  const orderOf = (node: number) => orders.get(node) ?? 2;
  /** Whether the reservoir behind a choke or a resistor moves that before it so much that both are to be looked at together. */
  const isClose = (e: Element, from: number) => {
    const to = e.a === from ? e.b : e.a;
    const own = held.get(from);
    const behind = held.get(to);
    if (own === undefined || behind === undefined) return false;
    const omega = orderOf(from) * 2 * Math.PI * hertz;
    if (e.kind === "choke") return Math.abs(choked(e, omega, behind)) > closeChoke * own;
    if (e.kind !== "resistance" || e.as !== "resistor") return false;
    return e.ohms * 4 * Math.PI * hertz * behind < closeFilter || lent(e, omega, behind) > closeLent * own;
  };
  const included = new Uint8Array(nodeCount + 1);
  const seed = new Uint8Array(nodeCount + 1);
  const queue: number[] = [];
  let count = 0;
  const include = (node: number) => {
    if (node < 0 || included[node + 1]) return;
    included[node + 1] = 1;
    count++;
    queue.push(node);
  };
  let anyWinding = false;
  for (const element of all.elements) {
    if (element.kind !== "winding") continue;
    anyWinding = true;
    for (const node of [element.a, element.b]) {
      seed[node + 1] = 1;
      include(node);
    }
  }
  const feedsRectifier = all.elements.some((e) => e.kind === "rectifier" && (isMains(e.a) || isMains(e.b)));
  if (!anyWinding && !feedsRectifier) return [];
  if (mains) {
    include(mains.active);
    include(mains.neutral);
  }

  // Over one element, everything its part hangs on; a heater brings its own ends alone.
  const across = (element: Element) => {
    if (element.kind === "resistance" && element.as === "heater") {
      include(element.a);
      include(element.b);
      return;
    }
    for (const other of all.byPart.get(element.reference) ?? []) {
      if (other.kind === "resistance" && other.as === "heater") continue;
      include(other.a);
      include(other.b);
    }
  };
  const most = mostNodes * Math.max(1, all.transformers.length);
  for (let head = 0; head < queue.length && count < most; head++) {
    const node = queue[head];
    for (const element of all.at[node + 1]) {
      if (element.kind === "open" || element.a === element.b) continue;
      if (isMains(node)) {
        // Loads across the mains and rectifiers on it; other transformers are supplies of their own.
        if (element.kind === "rectifier" || element.kind === "resistance") across(element);
        continue;
      }
      if (!held.has(node)) {
        across(element);
        continue;
      }
      if (element.kind === "rectifier" && seed[node + 1]) across(element);
      else if (element.kind === "capacitor" && element.farads >= reservoirFarads) {
        // Cans in series: the joint belongs to the reservoir.
        const other = element.a === node ? element.b : element.a;
        if (other >= 0 && held.has(other)) across(element);
      } else if (isClose(element, node)) {
        const other = element.a === node ? element.b : element.a;
        if (!orders.has(other)) orders.set(other, orderOf(node));
        across(element);
      }
    }
  }

  // Which elements lie wholly inside: by part, since a part is swallowed whole.
  const inside = (node: number) => node < 0 || included[node + 1] === 1;
  const wholly = new Map<string, boolean>();
  for (const [reference, own] of all.byPart) {
    const bodies = own.filter((e) => !(e.kind === "resistance" && e.as === "heater"));
    wholly.set(reference, bodies.length > 0 && bodies.every((e) => inside(e.a) && inside(e.b)));
  }
  const isHeater = (e: Element) => e.kind === "resistance" && e.as === "heater";
  const candidate = (e: Element) =>
    (isHeater(e) ? inside(e.a) && inside(e.b) : wholly.get(e.reference) === true) &&
    !(e.a < 0 && e.b < 0 && e.kind !== "winding");

  // Groups of nodes: everything but what lies between two held nodes joins; so does sharing a transformer.
  const parent = new Int32Array(nodeCount);
  for (let n = 0; n < nodeCount; n++) parent[n] = n;
  const root = (n: number): number => {
    let r = n;
    while (parent[r] !== r) {
      parent[r] = parent[parent[r]];
      r = parent[r];
    }
    return r;
  };
  const own = (node: number) => node >= 0 && !isMains(node);
  const join = (a: number, b: number) => {
    if (own(a) && own(b)) parent[root(a)] = root(b);
  };
  const weak = (e: Element) =>
    (e.kind === "resistance" ||
      (e.kind === "capacitor" && e.farads < reservoirFarads) ||
      e.kind === "choke" ||
      e.kind === "open") &&
    (held.has(e.a) || e.a < 0) &&
    (held.has(e.b) || e.b < 0) &&
    !(isClose(e, e.a) || isClose(e, e.b));
  for (const e of all.elements) if (candidate(e) && !weak(e)) join(e.a, e.b);
  for (const { windings } of all.transformers) {
    let first = -1;
    for (const { winding } of windings) {
      for (const net of winding.nets) {
        const node = topology.node[net];
        if (!own(node)) continue;
        if (first < 0) first = node;
        else join(first, node);
      }
    }
  }
  // A pot or a bridge is one part: its nodes go together.
  for (const [reference, elements] of all.byPart) {
    if (!wholly.get(reference) || elements.length < 2) continue;
    let first = -1;
    for (const e of elements) {
      if (isHeater(e)) continue;
      for (const node of [e.a, e.b]) {
        if (!own(node)) continue;
        if (first < 0) first = node;
        else join(first, node);
      }
    }
  }

  interface Group {
    nodes: number[];
    elements: Element[];
    powered: boolean;
  }
  const groups = new Map<number, Group>();
  const group = (node: number): Group => {
    const r = root(node);
    let g = groups.get(r);
    if (!g) {
      g = { nodes: [], elements: [], powered: false };
      groups.set(r, g);
    }
    return g;
  };
  for (let n = 0; n < nodeCount; n++) if (included[n + 1] && own(n)) group(n).nodes.push(n);
  const onMains: Element[] = [];
  for (const e of all.elements) {
    if (!candidate(e)) continue;
    const ends = [e.a, e.b].filter(own);
    if (ends.length === 0) {
      if (e.kind !== "winding" || isMains(e.a) || isMains(e.b)) {
        onMains.push(e);
        continue;
      }
      // Both ends of a winding on common: it still loads its core.
      const wound = all.transformers.find((t) => t === e.transformer);
      const node = wound?.windings.flatMap((w) => w.winding.nets.map((net) => topology.node[net])).find(own);
      if (node !== undefined) group(node).elements.push(e);
      continue;
    }
    const g = group(ends[0]);
    if (ends.length === 2 && group(ends[1]) !== g) continue;
    g.elements.push(e);
  }
  // A primary straight on the mains nodes: with the rest of its transformer.
  const mainsLoads: Element[] = [];
  for (const e of onMains) {
    if (e.kind !== "winding") {
      mainsLoads.push(e);
      continue;
    }
    const node = e.transformer.windings
      .flatMap((w) => w.winding.nets.map((net) => topology.node[net]))
      .find(own);
    if (node !== undefined) group(node).elements.push(e);
    else mainsLoads.push(e);
  }
  let live = [...groups.values()].filter((g) =>
    g.elements.some((e) => e.kind === "winding" || e.kind === "rectifier"),
  );
  const touchesMains = (g: Group) => g.elements.some((e) => isMains(e.a) || isMains(e.b));
  const host = live.find(touchesMains);
  if (host) {
    // What hangs across the mains and feeds nothing goes with the first supply there.
    for (const g of groups.values()) {
      if (live.includes(g) || !touchesMains(g)) continue;
      host.nodes.push(...g.nodes);
      host.elements.push(...g.elements);
    }
    host.elements.push(...mainsLoads);
    if (mains) host.nodes.push(...[...new Set([mains.active, mains.neutral])].filter((n) => n >= 0));
  }

  live = live.filter((g) => g.nodes.length > 0);
  const plans: { group: Group; parts: Set<string>; heaters: Set<string>; elements: Element[] }[] = [];
  for (const g of live) {
    // A part is in only when all of its elements are here.
    const counted = new Map<string, number>();
    for (const e of g.elements)
      if (!isHeater(e)) counted.set(e.reference, (counted.get(e.reference) ?? 0) + 1);
    const parts = new Set<string>();
    for (const [reference, n] of counted) {
      const whole = (all.byPart.get(reference) ?? []).filter((e) => !isHeater(e)).length;
      if (n === whole) parts.add(reference);
    }
    const heaters = new Set<string>();
    const elements = g.elements.filter((e) => (isHeater(e) ? true : parts.has(e.reference)));
    for (const e of elements) if (e.kind === "resistance" && e.as !== "resistor") heaters.add(e.reference);
    plans.push({ group: g, parts, heaters, elements });
  }

  // What stays outside, and where it touches.
  const swallowed = new Set(plans.flatMap((p) => [...p.parts]));
  const heated = new Set(plans.flatMap((p) => [...p.heaters]));
  const touched = new Uint8Array(nodeCount + 1);
  const siemens = new Float64Array(nodeCount + 1);
  const farads = new Float64Array(nodeCount + 1);
  for (const part of circuit.parts) {
    if (!swallowed.has(part.reference)) {
      for (const node of all.touches(part)) touched[node + 1] = 1;
      for (const e of all.byPart.get(part.reference) ?? []) {
        if (e.a === e.b) continue;
        if (e.kind !== "choke" && (e.kind !== "resistance" || e.as === "heater")) continue;
        for (const [from, to] of [
          [e.a, e.b],
          [e.b, e.a],
        ]) {
          const omega = orderOf(from) * 2 * Math.PI * hertz;
          const behind = held.get(to);
          const own = held.get(from) ?? 0;
          if (e.kind === "choke") {
            const less = choked(e, omega, behind);
            // Far above resonance, as a filter should be; nearer to it the straight picture is the safer one.
            if (less > 0 && less < 0.1 * own) farads[from + 1] += less;
          } else {
            siemens[from + 1] += 1 / e.ohms;
            // The next reservoir is not quite still.
            const more = behind === undefined || to < 0 ? 0 : lent(e, omega, behind);
            if (more > leastLent * own && more < 0.1 * own) farads[from + 1] -= more;
          }
        }
      }
    }
    if (
      part.kind === "valve" &&
      part.heater &&
      !heated.has(part.reference) &&
      !swallowed.has(part.reference)
    ) {
      for (const net of part.heater.nets) touched[topology.node[net] + 1] = 1;
    }
  }

  return plans.map(({ group: g, parts, heaters, elements }) => {
    const nodes = [...new Set(g.nodes)].sort((a, b) => a - b);
    const boundary = nodes
      .filter((n) => touched[n + 1])
      .map((node) => ({ node, siemens: siemens[node + 1], farads: farads[node + 1] }));
    const feeds: { a: number; b: number; primary?: string }[] = [];
    const notes: { message: string; nodes: readonly number[] }[] = [];
    const transformers = all.transformers.filter((t) => parts.has(t.transformer.reference));
    if (mains) {
      if (mains.active === mains.neutral) {
        notes.push({ message: "the mains' active and neutral are joined", nodes: [mains.active] });
      } else if (elements.some((e) => isMains(e.a) || isMains(e.b)))
        feeds.push({ a: mains.active, b: mains.neutral });
    } else {
      for (const { transformer } of transformers) {
        const { primary } = transformer;
        if (!primary || primary.nets.length < 2) continue;
        // The tap nearest the mains.
        let volts = 0;
        let best = 1;
        let off = Infinity;
        for (let k = 1; k < primary.nets.length; k++) {
          volts += Math.abs(primary.segmentVolts[k - 1]);
          const away = Math.abs(Math.log(volts / circuit.mains.volts.nominal));
          if (away < off - 1e-9) {
            off = away;
            best = k;
          }
        }
        const a = topology.node[primary.nets[0]];
        const b = topology.node[primary.nets[best]];
        if (a !== b) feeds.push({ a, b, primary: transformer.reference });
      }
    }
    for (const e of elements) {
      if (e.kind === "winding" && e.a === e.b) {
        notes.push({ message: `winding ${e.windingKey} is shorted`, nodes: [e.a] });
      }
    }
    return {
      nodes,
      elements,
      parts,
      heaters,
      boundary,
      inner: nodes.filter((n) => !touched[n + 1]),
      feeds,
      bare: transformers
        .filter((t) => !t.transformer.primary)
        .map((transformer) => ({ transformer, nominalVolts: circuit.mains.volts.nominal })),
      notes,
    };
  });
}

/** What a choke takes from the reservoir before it, as so much less capacitance; negative where it lends to it. */
function choked(
  { henries }: { readonly henries: number },
  omega: number,
  behind: number | undefined,
): number {
  return 1 / (omega * (omega * henries - (behind === undefined ? 0 : 1 / (omega * behind))));
}

/** What a resistor lends to the reservoir before it of the one behind. */
function lent({ ohms }: { readonly ohms: number }, omega: number, behind: number): number {
  return behind / (1 + (omega * ohms * behind) ** 2);
}

/** Fundamental of the ripple where rectifiers feed a reservoir, by the mains': once behind a single one, else twice. */
function rippleOrders(all: CircuitElements, held: ReadonlyMap<number, number>): Map<number, number> {
  const feeding = new Map<number, number>();
  for (const e of all.elements) {
    if (e.kind !== "rectifier") continue;
    for (const [node, other] of [
      [e.a, e.b],
      [e.b, e.a],
    ]) {
      if (!held.has(node)) continue;
      const before = feeding.get(node);
      feeding.set(node, before === undefined || before === other ? other : several);
    }
  }
  const orders = new Map<number, number>();
  for (const [node, other] of feeding) orders.set(node, other === several ? 2 : 1);
  return orders;
}
const several = -2;

/** Nodes that a reservoir holds: capacitance to common or to another held node, farads by node. */
function heldNodes(all: CircuitElements): ReadonlyMap<number, number> {
  const held = new Map<number, number>();
  const capacitors = all.elements.filter((e) => e.kind === "capacitor" && e.a !== e.b);
  for (let changed = true; changed; ) {
    changed = false;
    const farads = new Map<number, number>();
    for (const e of capacitors) {
      if (e.kind !== "capacitor") continue;
      for (const [from, to] of [
        [e.a, e.b],
        [e.b, e.a],
      ]) {
        const behind = to < 0 ? Number.POSITIVE_INFINITY : held.get(to);
        // In series with what holds the other end.
        if (behind !== undefined) farads.set(from, (farads.get(from) ?? 0) + 1 / (1 / e.farads + 1 / behind));
      }
    }
    for (const [node, sum] of farads) {
      if (node >= 0 && sum >= reservoirFarads && !held.has(node)) {
        held.set(node, sum);
        changed = true;
      }
    }
  }
  return held;
}
