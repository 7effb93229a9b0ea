/** Ideal sources that leave nothing to choose: loops of them fix the same volts twice. */
import type { Circuit, Source } from "../../circuit/model.ts";
import type { Topology } from "../topology.ts";

export interface SourceLoops {
  /** References of sources that say again what others say already: left out of the equations. */
  readonly redundant: ReadonlySet<string>;
  /** Sources that contradict: message and the nets concerned. */
  readonly contradiction?: { readonly message: string; readonly nets: readonly number[] };
}

/** Follow the ideal sources as a graph with volts on its edges. */
export function findSourceLoops(circuit: Circuit, topology: Topology): SourceLoops {
  const redundant = new Set<string>();
  const ideal = circuit.parts.filter(
    (part): part is Source => part.kind === "source" && !(part.ohms.value > 0),
  );
  if (ideal.length === 0) return { redundant };
  const parent = new Map<number, { up: number; volts: number }>(); // volts of a node above its parent
  const find = (node: number): { root: number; volts: number } => {
    let volts = 0;
    let at = node;
    for (let link = parent.get(at); link; link = parent.get(at)) {
      volts += link.volts;
      at = link.up;
    }
    return { root: at, volts };
  };
  for (const part of ideal) {
    const plusNet = part.terminals.get("plus");
    const minusNet = part.terminals.get("minus");
    if (plusNet === undefined || minusNet === undefined) continue;
    const volts = part.volts.value;
    const plus = find(topology.node[plusNet]);
    const minus = find(topology.node[minusNet]);
    if (plus.root !== minus.root) {
      // plus = minus + volts
      parent.set(plus.root, { up: minus.root, volts: minus.volts + volts - plus.volts });
      continue;
    }
    const already = plus.volts - minus.volts;
    if (Math.abs(already - volts) <= 1e-9 * Math.max(1, Math.abs(volts))) {
      redundant.add(part.reference);
      continue;
    }
    const names = [plusNet, minusNet].map((net) => circuit.nets[net].name);
    const message =
      topology.node[plusNet] === topology.node[minusNet]
        ? `source ${part.reference} (${volts} V) is short-circuited: ${names[0]} and ${names[1]} are joined without resistance`
        : `source ${part.reference} holds ${names[0]} at ${volts} V from ${names[1]}, where other sources without resistance make it ${round(already)} V`;
    return { redundant, contradiction: { message, nets: [plusNet, minusNet] } };
  }
  return { redundant };
}

function round(volts: number): number {
  return Number(volts.toPrecision(6));
}
