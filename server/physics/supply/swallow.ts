/**
 * How far a supply reaches: starting from windings and from what stands on the mains, over everything that hangs together, as far as
 * the nets where a reservoir holds the volts still. Never through a valve that amplifies.
 */
import { reservoirFarads } from "../../facts/supply.ts";
import type { Topology } from "../topology.ts";
import type { CircuitElements, Element } from "./elements.ts";
import type { Held } from "./held.ts";

/** More than this for each transformer is no supply: growth stops, and what is left is seen as a load. */
const mostNodes = 120;

export const isHeater = (e: Element): boolean => e.kind === "resistance" && e.as === "heater";

/** The mains' own nodes belong to every supply. */
export function onMains({ mains }: Topology): (node: number) => boolean {
  return (node) => mains !== undefined && (node === mains.active || node === mains.neutral);
}

/** What supplies are made of. */
export interface Swallowed {
  /** Nodes, by number. Circuit common belongs to all. */
  readonly included: Uint8Array;
  /** References of the parts whose bodies lie wholly inside: a part is swallowed whole, its heater apart. */
  readonly wholly: ReadonlySet<string>;
}

/** @returns undefined where there is no supply */
export function swallow(topology: Topology, all: CircuitElements, held: Held): Swallowed | undefined {
  const { nodeCount, mains } = topology;
  const isMains = onMains(topology);
  const included = new Uint8Array(nodeCount);
  const wound = new Uint8Array(nodeCount);
  const queue: number[] = [];
  const include = (node: number) => {
    if (node < 0 || included[node]) return;
    included[node] = 1;
    queue.push(node);
  };
  let any = false;
  for (const e of all.elements) {
    if (e.kind === "winding") {
      any = true;
      if (e.a >= 0) wound[e.a] = 1;
      if (e.b >= 0) wound[e.b] = 1;
      include(e.a);
      include(e.b);
    } else if (e.kind === "rectifier" && (isMains(e.a) || isMains(e.b))) any = true;
  }
  if (!any) return undefined;
  if (mains) {
    include(mains.active);
    include(mains.neutral);
  }

  // Over one element, everything its part hangs on; a heater brings its own ends alone.
  const across = (element: Element) => {
    if (isHeater(element)) {
      include(element.a);
      include(element.b);
      return;
    }
    for (const other of all.byPart.get(element.reference) ?? []) {
      if (isHeater(other)) continue;
      include(other.a);
      include(other.b);
    }
  };
  const most = mostNodes * Math.max(1, all.transformers.length);
  for (let head = 0; head < queue.length && queue.length < most; head++) {
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
      const other = element.a === node ? element.b : element.a;
      if (element.kind === "rectifier" && wound[node]) across(element);
      else if (element.kind === "capacitor" && element.farads >= reservoirFarads) {
        // Cans in series: the joint belongs to the reservoir.
        if (other >= 0 && held.has(other)) across(element);
      } else if (held.isClose(element, node)) {
        held.passOn(node, other);
        across(element);
      }
    }
  }

  const inside = (node: number) => node < 0 || included[node] === 1;
  const wholly = new Set<string>();
  for (const [reference, own] of all.byPart) {
    let bodies = 0;
    let whole = true;
    for (const e of own) {
      if (isHeater(e)) continue;
      bodies++;
      if (!inside(e.a) || !inside(e.b)) whole = false;
    }
    if (whole && bodies > 0) wholly.add(reference);
  }
  return { included, wholly };
}

/** Whether an element lies inside the supplies. */
export function isSwallowed({ included, wholly }: Swallowed, e: Element): boolean {
  if (e.a < 0 && e.b < 0 && e.kind !== "winding") return false;
  if (!isHeater(e)) return wholly.has(e.reference);
  return (e.a < 0 || included[e.a] === 1) && (e.b < 0 || included[e.b] === 1);
}
