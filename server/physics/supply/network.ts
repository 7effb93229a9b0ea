/**
 * An island's plan as a linear network with rectifying ports. Depends on the state, not on the mains level; `change`
 * gives the same network with one part's value moved, for tolerances.
 */

import { doubles } from "../linear/slabs.ts";
import type { Element, Rectifying } from "./elements.ts";
import type { IslandPlan } from "./grow.ts";
import {
  type LinearBranch,
  type LinearNetwork,
  type LocalNode,
  type Multiport,
  reduce,
} from "./multiport.ts";
import type { Port } from "./ports.ts";

/** What an element became. */
export type Placed =
  | { readonly element: Element; readonly as: "branch"; readonly branch: LinearBranch }
  | { readonly element: Element; readonly as: "capacitor" | "choke" | "port"; readonly index: number }
  | { readonly element: Element; readonly as: "open" };

export interface IslandNetwork {
  readonly network: LinearNetwork;
  readonly multiport: Multiport;
  readonly ports: readonly Port[];
  readonly placed: readonly Placed[];
  readonly local: (node: number) => LocalNode;
  /** The branches through which the mains come in. */
  readonly feeds: readonly LinearBranch[];
  /** Groups of nodes joined at dc: the group of each node, by topology node; common is group 0. */
  readonly groupOf: (node: number) => number;
  /** Groups that nothing ties to common or to the outside. */
  readonly floating: ReadonlySet<number>;
  /** Conductance to common that stands for the outside at each drive. */
  readonly siemens: Float64Array;
}

/** A value moved, for tolerances: what an element is to be multiplied by. */
export interface Change {
  readonly resistance?: number;
  readonly farads?: number;
  readonly henries?: number;
  /** Current of a rectifier at given volts. */
  readonly current?: number;
}

/** Resistance of the mains, so low that it shows nowhere. */
const feedSiemens = 1e4;
const neutralSiemens = 1e-6;
/** Loss of a choke's core and insulation as a leakage across it: brings the volts across a choke without current to nothing. */
const chokeLeak = 1e-7;
/** Stands for the outside where a group has no other way to common. */
const looseSiemens = 1e-7;
/** Capacitors below this straight across a rectifier or a winding are left out of the cycle. */
const snubberFarads = 0.1e-6;

/** What of a state the network depends on. */
export interface Heating {
  readonly cold: boolean;
  /** References of valves out of their sockets. */
  readonly pulled: ReadonlySet<string>;
  /** And of those in them without heat. */
  readonly unlit: ReadonlySet<string>;
}

export function islandNetwork(
  plan: IslandPlan,
  heating: Heating,
  change?: (element: Element) => Change | undefined,
): IslandNetwork {
  const localOf = new Map<number, LocalNode>();
  for (const node of plan.nodes) localOf.set(node, localOf.size);
  let nodes = plan.nodes.length;
  const local = (node: number): LocalNode => {
    if (node < 0) return -1;
    let k = localOf.get(node);
    if (k === undefined) {
      // A mains node that another island tells of.
      k = nodes++;
      localOf.set(node, k);
    }
    return k;
  };

  const groups = directGroups(plan, local);
  const cores = new Map<object, number>();
  const branches: LinearBranch[] = [];
  const capacitors: LinearNetwork["capacitors"][number][] = [];
  const chokes: LinearNetwork["chokes"][number][] = [];
  const ends: LinearNetwork["ports"][number][] = [];
  const ports: Port[] = [];
  const placed: Placed[] = [];
  const branch = (b: LinearBranch): LinearBranch => {
    branches.push(b);
    return b;
  };
  const quiet = quietCapacitors(plan);

  for (const element of plan.elements) {
    const a = local(element.a);
    const b = local(element.b);
    const by = change?.(element);
    const ohmsBy = by?.resistance ?? 1;
    switch (element.kind) {
      case "resistance":
        if (element.as === "heater" && heating.pulled.has(element.reference)) break;
        placed.push({
          element,
          as: "branch",
          branch: branch({ a, b, siemens: 1 / (element.ohms * ohmsBy) }),
        });
        break;
      case "source":
        placed.push({
          element,
          as: "branch",
          branch: branch({ a, b, siemens: 1 / Math.max(element.ohms, 1e-3), volts: element.volts }),
        });
        break;
      case "winding": {
        let core = cores.get(element.transformer);
        if (core === undefined) {
          core = cores.size;
          cores.set(element.transformer, core);
        }
        const own = { a, b, siemens: 1 / (element.ohms * ohmsBy), core, turns: element.turns };
        placed.push({ element, as: "branch", branch: branch(own) });
        break;
      }
      case "capacitor":
        if (quiet.has(element) || a === b) placed.push({ element, as: "open" });
        else {
          placed.push({ element, as: "capacitor", index: capacitors.length });
          capacitors.push({ a, b, farads: element.farads * (by?.farads ?? 1) });
        }
        break;
      case "choke":
        placed.push({ element, as: "choke", index: chokes.length });
        chokes.push({ a, b, henries: element.henries * (by?.henries ?? 1), ohms: element.ohms * ohmsBy });
        branch({ a, b, siemens: chokeLeak });
        break;
      case "rectifier":
        branch({ a, b, siemens: element.leak });
        if (
          a === b ||
          heating.pulled.has(element.reference) ||
          heating.unlit.has(element.reference) ||
          (heating.cold && element.indirect)
        )
          placed.push({ element, as: "open" });
        else {
          placed.push({ element, as: "port", index: ports.length });
          ends.push({ anode: a, cathode: b });
          ports.push(portOf(element, by?.current ?? 1));
        }
        break;
      case "open":
        placed.push({ element, as: "open" });
        break;
    }
  }

  const feeds = plan.feeds.map(({ a, b }) => {
    // The neutral is earthed outside: it stands at common, and carries nothing there.
    branch({ a: local(b), b: -1, siemens: neutralSiemens });
    return branch({ a: local(a), b: local(b), siemens: feedSiemens, mains: 1 });
  });
  for (const { transformer, nominalVolts } of plan.bare) {
    const core = cores.get(transformer);
    if (core !== undefined)
      branch({ a: -1, b: -1, siemens: feedSiemens, core, turns: nominalVolts, mains: -1 });
  }
  // What nothing ties to common hangs on one weak leak.
  const siemens = doubles(plan.boundary.length);
  const tied = new Set<number>([0]);
  plan.boundary.forEach(({ node, siemens: outside }, k) => {
    const group = groups.of(node);
    siemens[k] = group === 0 ? outside : Math.max(outside, looseSiemens);
    tied.add(group);
    if (siemens[k] > 0) branch({ a: local(node), b: -1, siemens: siemens[k] });
  });
  for (const { node, farads } of plan.boundary) {
    if (farads !== 0) capacitors.push({ a: local(node), b: -1, farads: -farads });
  }
  const floating = new Set<number>();
  for (const node of plan.nodes) {
    const group = groups.of(node);
    if (tied.has(group) || floating.has(group)) continue;
    floating.add(group);
    branch({ a: local(node), b: -1, siemens: 1e-9 });
  }

  const network: LinearNetwork = {
    nodes,
    cores: cores.size,
    branches,
    capacitors,
    chokes,
    ports: ends,
    drives: plan.boundary.map(({ node }) => local(node)),
  };
  return {
    network,
    multiport: reduce(network),
    ports,
    placed,
    local,
    feeds,
    groupOf: groups.of,
    floating,
    siemens,
  };
}

/** A port's law with its current scaled, for the spread of rectifiers. */
function portOf(element: Rectifying, current: number): Port {
  const deep = element.zener ? Number.NEGATIVE_INFINITY : -5;
  if (current === 1) return { law: element.law, knee: element.knee, deep };
  const { law } = element;
  return {
    knee: element.knee,
    deep,
    law: {
      evaluate(volts, out) {
        law.evaluate(volts, out);
        out[0] *= current;
        out[1] *= current;
      },
      inverse:
        law.inverse &&
        ((amps, out) => {
          law.inverse!(amps / current, out);
          out[1] /= current;
        }),
    },
  };
}

/**
 * Snubbers: small capacitors straight across a rectifier or a winding. Their current shows nowhere in the supply's figures, and they
 * would cost a state each.
 */
function quietCapacitors(plan: IslandPlan): ReadonlySet<Element> {
  const quiet = new Set<Element>();
  const small = plan.elements.filter((e) => e.kind === "capacitor" && e.farads < snubberFarads);
  for (const e of small) {
    const alongside = plan.elements.some(
      (o) =>
        (o.kind === "rectifier" || o.kind === "winding") &&
        ((o.a === e.a && o.b === e.b) || (o.a === e.b && o.b === e.a)),
    );
    const ofWinding = (node: number) =>
      plan.elements.find((o) => o.kind === "winding" && (o.a === node || o.b === node));
    const a = ofWinding(e.a);
    const b = ofWinding(e.b);
    const whole = a?.kind === "winding" && b?.kind === "winding" && a.windingKey === b.windingKey;
    if (alongside || whole) quiet.add(e);
  }
  return quiet;
}

function directGroups(plan: IslandPlan, local: (node: number) => LocalNode): { of(node: number): number } {
  const parent: number[] = [0];
  const root = (k: number): number => {
    parent[k] ??= k;
    let r = k;
    while (parent[r] !== r) r = parent[r];
    return r;
  };
  const join = (a: number, b: number) => {
    const p = root(local(a) + 1);
    const q = root(local(b) + 1);
    // Common stays the root of its group.
    if (p < q) parent[q] = p;
    else parent[p] = q;
  };
  for (const e of plan.elements) if (e.kind !== "capacitor" && e.kind !== "open") join(e.a, e.b);
  for (const { a, b } of plan.feeds) {
    join(a, b);
    join(b, -1);
  }
  return { of: (node) => root(local(node) + 1) };
}
