/** Cathodes that reach circuit common through nothing that carries their valve's current. */

import { KeptWith } from "../../circuit/kept-with.ts";
import type { Circuit, NetIndex, Part } from "../../circuit/model.ts";
import { cathodeWay } from "../../facts/practice.ts";
import { netsOf, partsOn } from "../frame/index.ts";
import { netsWith, topologyOf } from "./nodes.ts";
import { amplifying, type Section } from "./sections.ts";

export interface OpenCathode {
  /** Sections whose cathodes hang together, or on top of each other. */
  readonly sections: readonly Section[];
  /** Nets that their current can come to, with the ohms on the way, nearest first; none of them common. */
  readonly reached: ReadonlyMap<NetIndex, number>;
  /** Grids of their own that they come to through a leak. */
  readonly grids: readonly NetIndex[];
}

const kept = new KeptWith<Circuit, readonly OpenCathode[]>();

export function openCathodes(circuit: Circuit): readonly OpenCathode[] {
  let found = kept.get(circuit);
  if (!found) {
    found = find(circuit);
    kept.set(circuit, found);
  }
  return found;
}

function find(circuit: Circuit): readonly OpenCathode[] {
  // Without a common there is nothing to reach.
  if (circuit.ground === undefined && circuit.chassis === undefined) return [];
  const groups: { sections: Section[]; reached: Map<NetIndex, number>; grids: Set<NetIndex> }[] = [];
  for (const section of amplifying(circuit)) {
    const { cathode, plate } = section;
    if (cathode === undefined || plate === undefined || !joined(circuit, cathode)) continue;
    const way = wayFrom(circuit, section, cathode);
    if (!way) continue;
    const group = groups.find(({ reached }) => [...way.reached.keys()].some((net) => reached.has(net)));
    if (!group) groups.push({ sections: [section], ...way });
    else {
      group.sections.push(section);
      for (const [net, ohms] of way.reached) if (!group.reached.has(net)) group.reached.set(net, ohms);
      for (const net of way.grids) group.grids.add(net);
    }
  }
  return groups.map(({ sections, reached, grids }) => ({
    sections,
    reached,
    grids: [...grids].filter((net) => !reached.has(net)),
  }));
}

/** A cathode's net that is named once is a slip of the pen, and told as that. */
const joined = (circuit: Circuit, cathode: NetIndex): boolean =>
  netsWith(circuit, cathode).some((net) => circuit.nets[net].mentions.length > 1);

/** Everything that a cathode's current can come to; undefined where common is among it. */
function wayFrom(
  circuit: Circuit,
  section: Section,
  cathode: NetIndex,
): { reached: Map<NetIndex, number>; grids: Set<NetIndex> } | undefined {
  const { node } = topologyOf(circuit);
  const own = new Set<string>([section.key]);
  const reached = new Map<NetIndex, number>();
  const grids = new Set<NetIndex>();
  const near = new Map<NetIndex, number>([[cathode, 0]]);
  for (;;) {
    let at: NetIndex | undefined;
    for (const [net, ohms] of near)
      if (!reached.has(net) && (at === undefined || ohms < (near.get(at) ?? 0))) at = net;
    if (at === undefined) return { reached, grids };
    const ohms = near.get(at) ?? 0;
    if (node[at] === -1 || at === circuit.chassis) return undefined;
    if (isGridOf(circuit, own, at) && ohms > cathodeWay.mostOhms) {
      // A grid's leak brings the grid its volts, and no current away.
      grids.add(at);
      near.delete(at);
      continue;
    }
    reached.set(at, ohms);
    const offer = (net: NetIndex, more: number) => {
      if (!reached.has(net) && !grids.has(net) && ohms + more < (near.get(net) ?? Number.POSITIVE_INFINITY))
        near.set(net, ohms + more);
    };
    for (const net of netsWith(circuit, at)) offer(net, 0);
    for (const part of partsOn(circuit, at)) {
      if (part.kind === "valve") for (const net of throughValve(circuit, part, at, own)) offer(net, 0);
      else if (carries(part)) for (const net of throughPart(part, at)) offer(net, ohmsOf(part));
    }
  }
}

function isGridOf(circuit: Circuit, own: ReadonlySet<string>, net: NetIndex): boolean {
  const { node } = topologyOf(circuit);
  return amplifying(circuit).some(
    ({ key, grid }) => own.has(key) && grid !== undefined && node[grid] === node[net],
  );
}

/** Direct current passes it, in one position at least. */
const carries = (part: Part): boolean =>
  part.kind !== "capacitor" && !(part.kind === "lamp" && part.neon) && part.kind !== "valve";

const ohmsOf = (part: Part): number =>
  part.kind === "resistor" || part.kind === "pot" || part.kind === "choke" || part.kind === "thermistor"
    ? part.ohms.value
    : 0;

/** Nets that a part joins to this one; windings and poles are apart. */
function throughPart(part: Part, net: NetIndex): readonly NetIndex[] {
  const rows: readonly (readonly (NetIndex | undefined)[])[] =
    part.kind === "transformer"
      ? [part.primary, ...part.secondaries].map((row) => row?.nets ?? [])
      : part.kind === "output-transformer"
        ? [part.plates?.nets ?? [], part.speaker?.nets ?? []]
        : part.kind === "switch"
          ? part.poles.map(({ common, throws }) => [common, ...throws.values()])
          : [netsOf(part)];
  return rows.flatMap((row) =>
    row.includes(net) ? row.filter((one): one is NetIndex => one !== undefined) : [],
  );
}

/** Into the plate or screen of another section and out at its cathode; through heaters and rectifiers. Cathodes that it meets are its own. */
function throughValve(
  circuit: Circuit,
  part: Extract<Part, { kind: "valve" }>,
  net: NetIndex,
  own: Set<string>,
): readonly NetIndex[] {
  const found: NetIndex[] = part.heater?.nets.includes(net) ? [...part.heater.nets] : [];
  for (const section of part.sections) {
    const on = [...section.electrodes].filter(([, to]) => to === net).map(([name]) => name);
    if (on.length === 0) continue;
    const key = section.name === "" ? part.reference : `${part.reference}.${section.name}`;
    const cathode = section.electrodes.get("cathode");
    if (!amplifying(circuit).some((entry) => entry.key === key)) found.push(...section.electrodes.values());
    else if (on.includes("cathode")) own.add(key);
    else if (!own.has(key) && cathode !== undefined && on.some((name) => name !== "grid"))
      found.push(cathode);
  }
  return found;
}

/**
 * True where direct current can come from a net to circuit common through parts other than valves: it then stands at that
 * end's volts while the valves are cold. The cathode of a cascode's upper valve hangs on a cold valve alone, and stands nowhere.
 */
export function heldWhileCold(circuit: Circuit, net: NetIndex): boolean {
  let known = held.get(circuit);
  if (!known) {
    known = new Map();
    held.set(circuit, known);
  }
  let found = known.get(net);
  if (found === undefined) {
    found = reachesCommon(circuit, net);
    known.set(net, found);
  }
  return found;
}

const held = new KeptWith<Circuit, Map<NetIndex, boolean>>();

function reachesCommon(circuit: Circuit, net: NetIndex): boolean {
  const { node } = topologyOf(circuit);
  const reached = new Set<NetIndex>(netsWith(circuit, net));
  for (const at of reached) {
    if (node[at] === -1 || at === circuit.chassis) return true;
    for (const part of partsOn(circuit, at)) {
      if (!carries(part)) continue;
      for (const to of throughPart(part, at)) for (const own of netsWith(circuit, to)) reached.add(own);
    }
  }
  return false;
}
