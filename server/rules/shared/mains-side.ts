/** Parts that stand on the mains itself: the mains family holds those. */

import { KeptWith } from "../../circuit/kept-with.ts";
import type { Circuit, NetIndex, Part } from "../../circuit/model.ts";
import { partsOn } from "../frame/index.ts";
import { mainsSide } from "../mains/graph.ts";

const kept = new KeptWith<Circuit, ReadonlySet<NetIndex>>();

/** Nets of the active and neutral, and of a primary that no cord comes to. */
export function mainsNets(circuit: Circuit): ReadonlySet<NetIndex> {
  let nets = kept.get(circuit);
  if (!nets) {
    const found = new Set<NetIndex>(mainsSide(circuit)?.nets);
    for (const part of circuit.parts) {
      if (part.kind === "transformer") for (const net of part.primary?.nets ?? []) found.add(net);
    }
    if (circuit.ground !== undefined) found.delete(circuit.ground);
    if (circuit.chassis !== undefined) found.delete(circuit.chassis);
    nets = found;
    kept.set(circuit, nets);
  }
  return nets;
}

const keptParts = new KeptWith<Circuit, ReadonlySet<Part>>();

/** True where any terminal of the part is on the mains. */
export function onMains(circuit: Circuit, part: Part): boolean {
  let parts = keptParts.get(circuit);
  if (!parts) {
    const found = new Set<Part>();
    for (const net of mainsNets(circuit)) for (const own of partsOn(circuit, net)) found.add(own);
    parts = found;
    keptParts.set(circuit, parts);
  }
  return parts.has(part);
}
