/** Where the high tension comes from: rectifiers on windings of hazardous volts, and where they lead. */

import { KeptWith } from "../../circuit/kept-with.ts";
import type { Circuit, NetIndex, Part, Winding } from "../../circuit/model.ts";
import { discharge as touchable } from "../../facts/practice.ts";
import { netName, partsOn } from "../frame/index.ts";
import { topologyOf } from "../shared/nodes.ts";
import { type Feeding, feeding, rectifierValves } from "./rectifiers.ts";

export interface Feed {
  readonly part: Part;
  /** The rectifier's anode. */
  readonly from: NetIndex;
  /** Its cathode: the supply's first net. */
  readonly to: NetIndex;
  /** Keys of its readings, of which this way has a share. */
  readonly keys: readonly string[];
  readonly share: number;
}

const kept = new KeptWith<Circuit, readonly Feed[]>();

/**
 * Rectifiers whose cathode is the end of the way: not those that lead into a winding, or into the next rectifier, as the other half
 * of a bridge or of a doubler does.
 */
export function feedsOf(circuit: Circuit): readonly Feed[] {
  let feeds = kept.get(circuit);
  if (!feeds) {
    const { node } = topologyOf(circuit);
    const ways = waysOf(circuit);
    const onwards = new Set(ways.map((way) => node[way.from]));
    for (const { nets } of highTension(circuit)) for (const net of nets) onwards.add(node[net]);
    feeds = ways.filter(({ to }) => !onwards.has(node[to]));
    kept.set(circuit, feeds);
  }
  return feeds;
}

/** The winding behind a rectifier's anode, through further ones in series with it. */
export function windingBehind(circuit: Circuit, anode: NetIndex): Feeding | undefined {
  const { node } = topologyOf(circuit);
  const seen = new Set<NetIndex>([anode]);
  for (const net of seen) {
    const found = feeding(circuit, net);
    if (found) return found;
    for (const way of waysOf(circuit)) if (node[way.to] === node[net]) seen.add(way.from);
  }
  return undefined;
}

/** Windings whose volts can hurt. */
export function highTension(circuit: Circuit): readonly Winding[] {
  return circuit.parts.flatMap((part) =>
    part.kind === "transformer"
      ? part.secondaries.filter((winding) => winding.volts.value > touchable.volts)
      : [],
  );
}

/** A high-tension winding whose ends go on, and whose middle is named nowhere else. */
export function openTap(circuit: Circuit): { readonly key: string; readonly net: string } | undefined {
  for (const part of circuit.parts) {
    if (part.kind !== "transformer") continue;
    for (const { name, nets, volts } of part.secondaries) {
      const middle = nets[(nets.length - 1) / 2];
      if (nets.length < 3 || middle === undefined || !(volts.value > touchable.volts)) continue;
      if (partsOn(circuit, middle).length === 1 && partsOn(circuit, nets[0]).length > 1)
        return { key: `${part.reference}.${name}`, net: netName(circuit, middle) };
    }
  }
  return undefined;
}

/** Every rectifier from anode to cathode. */
export function waysOf(circuit: Circuit): readonly Feed[] {
  const found: Feed[] = [];
  const add = (
    part: Part,
    from: NetIndex | undefined,
    to: NetIndex | undefined,
    keys: readonly string[],
    share = 1,
  ) => {
    if (from !== undefined && to !== undefined) found.push({ part, from, to, keys, share });
  };
  for (const part of circuit.parts) {
    const at = (terminal: string) => part.terminals.get(terminal);
    if (part.kind === "diode") add(part, at("anode"), at("cathode"), [part.reference]);
    if (part.kind !== "bridge") continue;
    // Two of the four arms carry the current at a time.
    const arms = [1, 2, 3, 4].map((arm) => `${part.reference}.${arm}`);
    for (const ac of [at("ac1"), at("ac2")]) {
      add(part, ac, at("plus"), arms, 1 / 4);
      add(part, at("minus"), ac, arms, 1 / 4);
    }
  }
  for (const { valve, plates, output } of rectifierValves(circuit))
    for (const plate of plates) add(valve, plate.net, output, [plate.key]);
  return found;
}
