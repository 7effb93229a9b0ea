/**
 * Voltage selectors: a switch that chooses among a primary's taps stands where it suits the mains that the file names, not in its
 * first position. What is wrong in every position is mains/primary-voltage's to tell.
 */

import { KeptWith } from "../circuit/kept-with.ts";
import type { Circuit, NetIndex, Switch, Winding } from "../circuit/model.ts";
import { mainsSeries } from "../facts/practice.ts";
import { mainsWindings, voltsBetween } from "./mains-windings.ts";

/** More combinations of positions than this are not tried: the switches then stay in their first. */
const mostCombinations = 256;

const known = new KeptWith<Circuit, ReadonlyMap<string, string>>();

/** Position of each voltage selector by reference; empty where there is none, or where no position joins a primary to the mains. */
export function selectorPositions(circuit: Circuit): ReadonlyMap<string, string> {
  let found = known.get(circuit);
  if (!found) {
    found = find(circuit);
    known.set(circuit, found);
  }
  return found;
}

function find(circuit: Circuit): ReadonlyMap<string, string> {
  const nothing: ReadonlyMap<string, string> = new Map();
  const choosing = circuit.parts.filter((part): part is Switch => part.kind === "switch" && chooses(part));
  if (choosing.length === 0) return nothing;
  const primaries = [...mainsWindings(circuit).values()].filter(([primary]) => !primary.refused);
  const feed = circuit.parts.find((part) => part.kind === "cord" || part.kind === "inlet");
  if (primaries.length === 0 || !feed || (feed.kind !== "cord" && feed.kind !== "inlet")) return nothing;
  const active = feed.leads.get("active")?.net;
  const neutral = feed.leads.get("neutral")?.net;
  if (active === undefined || neutral === undefined) return nothing;

  const fixed = new Joined(circuit.nets.length);
  for (const part of circuit.parts) {
    if (part.kind === "switch" && !choosing.includes(part)) {
      const position = part.positions.includes("on") ? "on" : part.positions[0];
      for (const { common, throws } of part.poles) fixed.join(common, throws.get(position));
    } else if (part.kind === "wire" || part.kind === "bond" || part.kind === "fuse" || limits(part))
      fixed.join(...(part.terminals.values() as Iterable<NetIndex>));
  }
  const taps = new Set(primaries.flat().flatMap(({ nets }) => nets.map((net) => fixed.root(net))));
  const selectors = choosing.filter((part) =>
    part.poles.some((pole) =>
      [pole.common, ...pole.throws.values()].some((net) => net !== undefined && taps.has(fixed.root(net))),
    ),
  );
  const count = selectors.reduce((product, part) => product * part.positions.length, 1);
  if (selectors.length === 0 || count > mostCombinations) return nothing;

  let best = nothing;
  let least = Number.POSITIVE_INFINITY;
  for (let number = 0; number < count; number++) {
    const positions = combination(selectors, number);
    const joined = fixed.copy();
    for (const part of selectors) {
      const position = positions.get(part.reference) ?? "";
      for (const { common, throws } of part.poles) joined.join(common, throws.get(position));
    }
    const off = farthestOff(primaries, joined, active, neutral, circuit.mains.volts.nominal);
    // A thousandth better, so that of two alike the first stays.
    if (off !== undefined && off < least - 1e-3) {
      least = off;
      best = positions;
    }
  }
  return best;
}

/** Two throws of a pole lead somewhere, and the name promises neither the mains' off nor a standby. */
function chooses(part: Switch): boolean {
  if (part.duty === "mains" || part.duty === "standby") return false;
  return part.poles.some((pole) => pole.throws.size > 1);
}

/** What limits the inrush, or filters, and carries the mains on. */
function limits(part: Circuit["parts"][number]): boolean {
  if (part.kind === "thermistor" || part.kind === "choke") return true;
  return part.kind === "resistor" && part.ohms.value <= mainsSeries.mostOhms;
}

function combination(selectors: readonly Switch[], number: number): ReadonlyMap<string, string> {
  const positions = new Map<string, string>();
  let rest = number;
  for (const part of selectors) {
    positions.set(part.reference, part.positions[rest % part.positions.length]);
    rest = Math.floor(rest / part.positions.length);
  }
  return positions;
}

/** How far the worst suited primary is from the mains, as a logarithm; undefined where one is not fed at all. */
function farthestOff(
  primaries: readonly (readonly Winding[])[],
  joined: Joined,
  active: NetIndex,
  neutral: NetIndex,
  mains: number,
): number | undefined {
  let worst = 0;
  for (const windings of primaries) {
    const volts = voltsBetween(
      windings,
      (net) => joined.root(net),
      joined.root(active),
      joined.root(neutral),
    );
    if (volts === undefined) return undefined;
    worst = Math.max(worst, Math.abs(Math.log(mains / volts)));
  }
  return worst;
}

/** Nets that are one. */
class Joined {
  private readonly parent: Int32Array;

  constructor(from: number | Int32Array) {
    this.parent =
      typeof from === "number" ? Int32Array.from({ length: from }, (_, net) => net) : from.slice();
  }

  copy(): Joined {
    return new Joined(this.parent);
  }

  root(net: NetIndex): NetIndex {
    let at = net;
    while (this.parent[at] !== at) at = this.parent[at];
    return at;
  }

  join(...nets: readonly (NetIndex | undefined)[]): void {
    const [first, ...others] = nets.filter((net) => net !== undefined);
    if (first !== undefined) for (const net of others) this.parent[this.root(net)] = this.root(first);
  }
}
