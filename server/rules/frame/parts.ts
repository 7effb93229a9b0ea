/** Looking parts up by kind and by net. */

import { KeptWith } from "../../circuit/kept-with.ts";
import type { Circuit, NetIndex, Part, PartKind } from "../../circuit/model.ts";

/** The part types that can have a kind: cord and inlet share one. */
type PartOf<K extends PartKind, P extends Part = Part> = P extends Part
  ? [K & P["kind"]] extends [never]
    ? never
    : P
  : never;

const byKind = new KeptWith<Circuit, Map<string, readonly Part[]>>();

/** Parts of the kinds named, in the file's order. Looked for once per circuit. */
export function partsOf<K extends PartKind>(circuit: Circuit, ...kinds: readonly K[]): readonly PartOf<K>[] {
  let lists = byKind.get(circuit);
  if (!lists) {
    lists = new Map();
    byKind.set(circuit, lists);
  }
  const key = kinds.length === 1 ? kinds[0] : kinds.join();
  let list = lists.get(key);
  if (!list) {
    list = circuit.parts.filter((part) => (kinds as readonly PartKind[]).includes(part.kind));
    lists.set(key, list);
  }
  return list as readonly PartOf<K>[];
}

const netsByPart = new KeptWith<Part, readonly NetIndex[]>();

/** Every net a part sits on, each once: plain terminals, sections, heaters, windings, poles and leads alike. */
export function netsOf(part: Part): readonly NetIndex[] {
  let nets = netsByPart.get(part);
  if (!nets) {
    nets = findNets(part);
    netsByPart.set(part, nets);
  }
  return nets;
}

function findNets(part: Part): readonly NetIndex[] {
  const nets = new Set<NetIndex>(part.terminals.values());
  switch (part.kind) {
    case "valve":
      for (const section of part.sections) for (const net of section.electrodes.values()) nets.add(net);
      for (const net of part.heater?.nets ?? []) nets.add(net);
      break;
    case "transformer":
      for (const winding of [part.primary, ...part.secondaries])
        for (const net of winding?.nets ?? []) nets.add(net);
      break;
    case "output-transformer":
      for (const net of [...(part.plates?.nets ?? []), ...(part.speaker?.nets ?? [])]) nets.add(net);
      break;
    case "cord":
    case "inlet":
      for (const lead of part.leads.values()) nets.add(lead.net);
      break;
    case "switch":
      for (const pole of part.poles) {
        if (pole.common !== undefined) nets.add(pole.common);
        for (const net of pole.throws.values()) nets.add(net);
      }
      break;
  }
  return [...nets];
}

const byNet = new KeptWith<Circuit, ReadonlyMap<NetIndex, readonly Part[]>>();

/** Parts on a net, in the file's order, each once. Built once per circuit. */
export function partsOn(circuit: Circuit, net: NetIndex): readonly Part[] {
  const known = byNet.get(circuit);
  if (known) return known.get(net) ?? [];
  const map = new Map<NetIndex, Part[]>();
  for (const part of circuit.parts) {
    for (const on of netsOf(part)) {
      const list = map.get(on);
      if (list) list.push(part);
      else map.set(on, [part]);
    }
  }
  byNet.set(circuit, map);
  return map.get(net) ?? [];
}

const endsByPart = new KeptWith<Part, readonly [NetIndex, NetIndex]>();

/** Both nets of a two-terminal part, first terminal first; undefined where one is not wired. */
export function ends(part: Part): readonly [NetIndex, NetIndex] | undefined {
  if (part.terminals.size !== 2) return undefined;
  let both = endsByPart.get(part);
  if (!both) {
    const [first, second] = part.terminals.values();
    both = [first, second];
    endsByPart.set(part, both);
  }
  return both;
}

/** How a part is called in a message: its reference, or the nets of a wire or bond that has none. */
export function called(circuit: Circuit, part: Part): string {
  if (!part.unnamed) return part.reference;
  const nets = [...part.terminals.values()].map((net) => circuit.nets[net]?.name ?? "?");
  return `the ${part.kind} ${nets.join(" to ")}`;
}
