/** Which output valves' plates and screens a series part of the supply feeds. */
import type { Circuit, NetIndex, Part } from "../../circuit/model.ts";
import { ends, netsOf, partsOn } from "../frame/index.ts";
import type { Network } from "../shared/network.ts";
import { netsWith } from "../shared/nodes.ts";
import { amplifying } from "../shared/sections.ts";

/**
 * Keys of electrodes (`V3.plate`, `V3.screen`) whose supply comes through a series part: those that are cut off from every
 * rectifier and source when it is taken out. Undefined where the part has not two ends.
 */
export function outputFeeds(circuit: Circuit, network: Network, part: Part): ReadonlySet<string> | undefined {
  const both = ends(part);
  if (!both) return undefined;
  const fed = new Set<string>();
  for (const section of amplifying(circuit)) {
    for (const name of ["plate", "screen"] as const) {
      const net = section[name];
      if (net !== undefined && !reaches(circuit, network, net, part)) fed.add(`${section.key}.${name}`);
    }
  }
  return fed;
}

/** Can a direct current reach the net from a rectifier or a source, the part left out? */
function reaches(circuit: Circuit, network: Network, start: NetIndex, without: Part): boolean {
  const seen = new Set<NetIndex>(netsWith(circuit, start));
  for (const net of seen) {
    if (net === circuit.ground) continue;
    for (const part of partsOn(circuit, net)) {
      if (part === without) continue;
      if (supplies(part, net)) return true;
      if (!passes(part)) continue;
      for (const next of netsOf(part))
        for (const own of netsWith(circuit, next)) if (network.nodeOf(own) !== -1) seen.add(own);
    }
  }
  return false;
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
