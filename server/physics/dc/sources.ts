/** Ideal sources that leave nothing to choose: loops of them fix the same volts twice. */
import type { Circuit, NetIndex, Source } from "../../circuit/model.ts";
import type { Topology } from "../topology.ts";

export interface SourceLoops {
  /** References of sources that say again what others say already, or contradict them: left out of the equations. */
  readonly leftOut: ReadonlySet<string>;
  /** Sources that contradict others, or are short-circuited. */
  readonly contradictions: readonly Contradiction[];
}

export interface Contradiction {
  readonly message: string;
  readonly nets: readonly NetIndex[];
  readonly source: Source;
  /** The source's own ends are one. */
  readonly shorted: boolean;
}

const none: readonly Contradiction[] = [];

/** Follow the ideal sources as a graph with volts on its edges. */
export function findSourceLoops(circuit: Circuit, topology: Topology): SourceLoops {
  const leftOut = new Set<string>();
  const ideal = circuit.parts.filter(
    (part): part is Source => part.kind === "source" && !(part.ohms.value > 0),
  );
  if (ideal.length === 0) return { leftOut, contradictions: none };
  const contradictions: Contradiction[] = [];
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
    leftOut.add(part.reference);
    const already = plus.volts - minus.volts;
    if (Math.abs(already - volts) <= 1e-9 * Math.max(1, Math.abs(volts))) continue;
    const names = [plusNet, minusNet].map((net) => circuit.nets[net].name);
    const shorted = topology.node[plusNet] === topology.node[minusNet];
    const message = !shorted
      ? `source ${part.reference} holds ${names[0]} at ${volts} V from ${names[1]}, where other sources without resistance make it ${round(already)} V`
      : `source ${part.reference} (${volts} V) is short-circuited: ${plusNet === minusNet ? `both its ends are on ${names[0]}` : `${names[0]} and ${names[1]} are joined without resistance`}`;
    contradictions.push({ message, nets: [plusNet, minusNet], source: part, shorted });
  }
  return { leftOut, contradictions };
}

function round(volts: number): number {
  return Number(volts.toPrecision(6));
}
