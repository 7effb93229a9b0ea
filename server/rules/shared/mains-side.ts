/** Parts that stand on the mains itself: the mains family holds those. */
import type { Circuit, NetIndex, Part } from "../../circuit/model.ts";
import { netsOf } from "../frame/index.ts";
import { mainsSide } from "../mains/graph.ts";

const kept = new WeakMap<Circuit, ReadonlySet<NetIndex>>();

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

/** True where any terminal of the part is on the mains. */
export const onMains = (circuit: Circuit, part: Part): boolean =>
  netsOf(part).some((net) => mainsNets(circuit).has(net));
