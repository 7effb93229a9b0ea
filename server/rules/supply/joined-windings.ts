/** Windings as rectifiers see them: two like ones of a transformer in series are one with a tap in its middle. */
import type { Circuit, NetIndex, Place, Transformer, Winding } from "../../circuit/model.ts";
import { twoHalves } from "../../facts/practice.ts";
import { topologyOf } from "../shared/nodes.ts";
import { type Secondary, secondaries } from "./heaters.ts";

/** What a rule needs of a winding's ends and taps. */
export interface Wound {
  readonly transformer: Transformer;
  /** `T1.ht`; of two in series both, first the one whose start is an end. */
  readonly keys: readonly string[];
  readonly windings: readonly Winding[];
  readonly nets: readonly NetIndex[];
  readonly netPlaces: readonly Place[];
  readonly segmentVolts: readonly number[];
  /** Two whose like ends are joined: they give current in the same half of the cycle. */
  readonly inPhase?: boolean;
}

/** Every secondary, two like ones in series as one. */
export function joinedWindings(circuit: Circuit): readonly Wound[] {
  const all = [...secondaries(circuit)];
  const taken = new Set<Winding>();
  const found: Wound[] = [];
  for (const one of all) {
    if (taken.has(one.winding)) continue;
    const pair = all
      .filter((other) => other.transformer === one.transformer && !taken.has(other.winding))
      .flatMap((other) => inSeries(circuit, one, other) ?? [])[0];
    if (!pair) continue;
    for (const winding of pair.windings) taken.add(winding);
    found.push(pair);
  }
  for (const { transformer, winding, key } of all) {
    if (taken.has(winding)) continue;
    const { nets, netPlaces, segmentVolts } = winding;
    found.push({ transformer, keys: [key], windings: [winding], nets, netPlaces, segmentVolts });
  }
  return found;
}

function inSeries(circuit: Circuit, one: Secondary, other: Secondary): Wound | undefined {
  const [a, b] = [one.winding, other.winding];
  if (a === b || a.nets.length !== 2 || b.nets.length !== 2) return undefined;
  const [volts, others] = [Math.abs(a.segmentVolts[0]), Math.abs(b.segmentVolts[0])];
  if (!(Math.abs(volts - others) <= twoHalves.likeShare * Math.max(volts, others))) return undefined;
  const { node } = topologyOf(circuit);
  const same = (x: NetIndex, y: NetIndex) => node[x] === node[y];
  // Side by side they are one winding of more current.
  const joints = a.nets.flatMap((x, i) => b.nets.flatMap((y, j) => (same(x, y) ? [[i, j] as const] : [])));
  if (joints.length !== 1) return undefined;
  const [[i, j]] = joints;
  const [first, last, at, to] = i === 1 || i === j ? [one, other, i, j] : [other, one, j, i];
  const [f, l] = [first.winding, last.winding];
  return {
    transformer: one.transformer,
    keys: [first.key, last.key],
    windings: [f, l],
    nets: [f.nets[1 - at], f.nets[at], l.nets[1 - to]],
    netPlaces: [f.netPlaces[1 - at], f.netPlaces[at], l.netPlaces[1 - to]],
    segmentVolts: [f.segmentVolts[0], l.segmentVolts[0]],
    inPhase: i === j || undefined,
  };
}
