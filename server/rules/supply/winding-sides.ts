/** What rectifiers take from each end of a winding, and give back to it. */
import type { Circuit, NetIndex } from "../../circuit/model.ts";
import { twoHalves } from "../../facts/practice.ts";
import type { Solution } from "../../physics/results.ts";
import { ends, partsOn } from "../frame/index.ts";
import { netsWith, topologyOf } from "../shared/nodes.ts";
import { type Feed, waysOf } from "./high-tension.ts";
import type { Wound } from "./joined-windings.ts";

export interface Side {
  readonly net: NetIndex;
  /** Its own node, and what resistors in a rectifier's lead join to it. */
  readonly nodes: ReadonlySet<number>;
  /** Rectifiers with their anode here: they take current from the end. */
  readonly out: readonly Feed[];
  /** Those with their cathode here: they bring it back. */
  readonly in: readonly Feed[];
  readonly outAmps: number;
  readonly inAmps: number;
}

/** The two ends of a winding; undefined where they are one, or one of them is circuit common. */
export function sidesOf(circuit: Circuit, idle: Solution, winding: Wound): readonly [Side, Side] | undefined {
  const { node } = topologyOf(circuit);
  const [start, end] = [winding.nets[0], winding.nets[winding.nets.length - 1]];
  if (node[start] === node[end] || node[start] < 0 || node[end] < 0) return undefined;
  const near = [start, end].map((net) => leadsFrom(circuit, winding, net));
  const ways = waysOf(circuit);
  const carried = (feeds: readonly Feed[]) =>
    feeds.reduce(
      (sum, { keys, share }) =>
        sum + share * keys.reduce((all, key) => all + Math.abs(idle.readings.get(key)?.amps ?? 0), 0),
      0,
    );
  const side = (net: NetIndex, nodes: ReadonlySet<number>, others: ReadonlySet<number>): Side => {
    const own = new Set([...nodes].filter((one) => one === node[net] || !others.has(one)));
    const out = ways.filter((way) => own.has(node[way.from]) && !own.has(node[way.to]));
    const back = ways.filter((way) => own.has(node[way.to]) && !own.has(node[way.from]));
    return { net, nodes: own, out, in: back, outAmps: carried(out), inAmps: carried(back) };
  };
  return [side(start, near[0], near[1]), side(end, near[1], near[0])];
}

/** Nodes that resistors of a rectifier's lead join to an end, short of common and of the winding's other nets. */
function leadsFrom(circuit: Circuit, winding: Wound, net: NetIndex): ReadonlySet<number> {
  const { node } = topologyOf(circuit);
  const stops = new Set([-1, ...winding.nets.map((own) => node[own])]);
  const seen = new Set<NetIndex>(netsWith(circuit, net));
  for (const at of seen) {
    for (const part of partsOn(circuit, at)) {
      const passes =
        part.kind === "thermistor" || (part.kind === "resistor" && part.ohms.value < twoHalves.leadOhms);
      if (!passes) continue;
      for (const far of ends(part) ?? [])
        if (!stops.has(node[far])) for (const same of netsWith(circuit, far)) seen.add(same);
    }
  }
  return new Set([...seen].map((one) => node[one]));
}

/** The net of a tap in a winding's middle that something is joined to; undefined where there is none. */
export function middleOf(circuit: Circuit, winding: Wound): NetIndex | undefined {
  const { segmentVolts, nets } = winding;
  const all = segmentVolts.reduce((sum, volts) => sum + Math.abs(volts), 0);
  let below = 0;
  for (let tap = 1; tap < nets.length - 1; tap++) {
    below += Math.abs(segmentVolts[tap - 1]);
    const own = netsWith(circuit, nets[tap]);
    const joined =
      topologyOf(circuit).node[nets[tap]] < 0 ||
      own.some((net) => partsOn(circuit, net).some((part) => part.kind !== "transformer"));
    if (joined && Math.abs(2 * below - all) <= twoHalves.likeShare * all) return nets[tap];
  }
  return undefined;
}
