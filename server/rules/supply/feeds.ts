/** Which output valves' plates and screens a series part of the supply feeds. */

import { KeptWith } from "../../circuit/kept-with.ts";
import type { Circuit, NetIndex, Part } from "../../circuit/model.ts";
import { ends, netsOf, partsOn } from "../frame/index.ts";
import type { Network } from "../shared/network.ts";
import { netsWith, topologyOf } from "../shared/nodes.ts";
import { amplifying } from "../shared/sections.ts";

/**
 * Keys of electrodes (`V3.plate`, `V3.screen`) whose supply comes through a series part: those that are cut off from every
 * rectifier and source when it is taken out. Undefined where the part has not two ends.
 */
export function outputFeeds(circuit: Circuit, network: Network, part: Part): ReadonlySet<string> | undefined {
  const both = ends(part);
  if (!both) return undefined;
  // Only what its two ends come to is another when it is out.
  const sides = both.flatMap((end) =>
    network.nodeOf(end) === -1 ? [] : [explore(circuit, network, end, part)],
  );
  const isFed = (net: NetIndex): boolean => {
    if (network.nodeOf(net) === -1) return explore(circuit, network, net, part).supplied;
    return (sides.find((side) => side.nets.has(net)) ?? regionOf(circuit, network, net)).supplied;
  };
  const fed = new Set<string>();
  for (const section of amplifying(circuit)) {
    for (const name of ["plate", "screen"] as const) {
      const net = section[name];
      if (net !== undefined && !isFed(net)) fed.add(`${section.key}.${name}`);
    }
  }
  return fed;
}

/**
 * The same for a part without resistance, such as a fuse: what hangs on the side of it that no rectifier or source is on. Empty where
 * there is one on both sides, or on neither.
 */
export function fedThrough(circuit: Circuit, part: Part): ReadonlySet<string> {
  const sides = (ends(part) ?? []).map((end) => wiredTo(circuit, end, part));
  const [fed, ...more] = sides.filter((side) => !side.supplied);
  const keys = new Set<string>();
  if (sides.length !== 2 || !fed || more.length > 0) return keys;
  for (const section of amplifying(circuit)) {
    for (const name of ["plate", "screen"] as const) {
      const net = section[name];
      if (net !== undefined && fed.nets.has(net)) keys.add(`${section.key}.${name}`);
    }
  }
  return keys;
}

/** As `explore`, from net to net: what the topology has merged is parted again where the part stands. */
function wiredTo(circuit: Circuit, start: NetIndex, without: Part): Region {
  const { node } = topologyOf(circuit);
  const nets = new Set<NetIndex>([start]);
  let supplied = false;
  for (const net of nets) {
    if (net === circuit.ground) continue;
    for (const part of partsOn(circuit, net)) {
      if (part === without) continue;
      if (supplies(part, net)) supplied = true;
      for (const next of netsOf(part))
        if (passes(part) || (joins(part) && node[next] === node[net])) nets.add(next);
    }
  }
  return { nets, supplied };
}

const joins = (part: Part): boolean => ["wire", "bond", "fuse", "switch", "jack"].includes(part.kind);

/** What direct current joins, common left out, and whether a rectifier or a source is on it. */
interface Region {
  readonly nets: ReadonlySet<NetIndex>;
  readonly supplied: boolean;
}

const regions = new KeptWith<Network, Map<NetIndex, Region>>();

/** The region of a net that is not common, with every part in its place. */
function regionOf(circuit: Circuit, network: Network, net: NetIndex): Region {
  let byNet = regions.get(network);
  if (!byNet) {
    byNet = new Map();
    regions.set(network, byNet);
  }
  let region = byNet.get(net);
  if (!region) {
    region = explore(circuit, network, net);
    for (const own of region.nets) byNet.set(own, region);
  }
  return region;
}

function explore(circuit: Circuit, network: Network, start: NetIndex, without?: Part): Region {
  const nets = new Set<NetIndex>(netsWith(circuit, start));
  let supplied = false;
  for (const net of nets) {
    if (net === circuit.ground) continue;
    for (const part of partsOn(circuit, net)) {
      if (part === without) continue;
      if (supplies(part, net)) supplied = true;
      if (!passes(part)) continue;
      for (const next of netsOf(part))
        if (network.nodeOf(next) !== -1) for (const own of netsWith(circuit, next)) nets.add(own);
    }
  }
  return { nets, supplied };
}

const passes = (part: Part): boolean =>
  ["resistor", "choke", "thermistor", "output-transformer", "pot"].includes(part.kind);

function supplies(part: Part, net: NetIndex): boolean {
  if (part.kind === "source") return part.terminals.get("plus") === net;
  if (part.kind === "bridge") return part.terminals.get("plus") === net;
  if (part.kind === "diode") return part.terminals.get("cathode") === net;
  if (part.kind !== "valve") return false;
  return part.sections.some(
    (section) =>
      section.electrodes.get("cathode") === net &&
      (section.electrodes.has("plate1") || section.electrodes.has("plate2")),
  );
}
