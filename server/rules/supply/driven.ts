/** How much more the supply gives at full drive than at idle. */
import type { MainsLevel, NetIndex, Transformer, Winding } from "../../circuit/model.ts";
import { discharge as touchable } from "../../facts/practice.ts";
import { rmsByDirect } from "../../facts/supply.ts";
import type { Analysis, Solution } from "../../physics/results.ts";
import { topologyOf } from "../shared/nodes.ts";
import { amplifying } from "../shared/sections.ts";
import { feedsOf, windingBehind } from "./high-tension.ts";

export interface DrivenSupply {
  /** Current at full drive over that at idle. */
  readonly factor: number;
  /** What full drive adds, amperes. */
  readonly added: number;
}

/** Of which supply: of what a net is fed by, of what a winding feeds; of all high tension where left out. */
export interface SupplyPart {
  readonly output?: NetIndex;
  readonly winding?: Winding;
}

/** A supply that gives less at idle is as good as dead: nothing can be told of it by proportion. */
const leastAmps = 1e-3;

/**
 * The output stages draw more when driven: plates and screens together. What else the supply feeds stays.
 * @returns undefined without an output stage that draws more, and for a supply that gives next to nothing at idle
 */
export function drivenSupply(
  analysis: Analysis,
  of: SupplyPart,
  levels: readonly MainsLevel[] = ["nominal", "high"],
): DrivenSupply | undefined {
  let found: DrivenSupply | undefined;
  for (const level of levels) {
    const idle = analysis.solution("idle", level);
    if (!idle?.solved) continue;
    const added = addedAmps(analysis, idle, level);
    const now = supplied(analysis, idle, of);
    if (!(added > 0) || !(now > leastAmps)) continue;
    const factor = (now + added) / now;
    if (!found || factor > found.factor) found = { factor, added };
  }
  return found;
}

/**
 * What full drive adds to the output valves' plates and screens, amperes.
 * @param only keys of the electrodes that count (`V3.screen`); all of them where left out
 */
export function addedAmps(
  analysis: Analysis,
  idle: Solution,
  level: MainsLevel,
  only?: ReadonlySet<string>,
): number {
  let added = 0;
  for (const stage of analysis.drive(level)) {
    let most = 0;
    for (const step of stage.levels) {
      let more = 0;
      for (const [key, reading] of step.readings) {
        if (!/\.(plate|screen)$/.test(key) || (only && !only.has(key))) continue;
        const still = idle.readings.get(key)?.amps;
        if (still !== undefined && Number.isFinite(reading.amps)) more += reading.amps - still;
      }
      most = Math.max(most, more);
    }
    added += most;
  }
  return added;
}

/**
 * Direct current that the high-tension rectifiers give at idle; bleeders, regulators and what else hangs there are in it. What the
 * amplifying valves draw where no rectifier is found.
 */
function supplied(analysis: Analysis, idle: Solution, of: SupplyPart): number {
  const all = rectified(analysis, idle, of);
  return all || (of.winding ? 0 : drawn(analysis, idle));
}

function rectified(analysis: Analysis, idle: Solution, { output, winding }: SupplyPart): number {
  const { circuit } = analysis;
  const { node } = topologyOf(circuit);
  let sum = 0;
  let own = 0;
  for (const { from, to, share, keys } of feedsOf(circuit)) {
    if (output !== undefined && node[to] !== node[output]) continue;
    if (!(idle.volts[to] > touchable.volts)) continue;
    const amps = share * keys.reduce((all, key) => all + (idle.readings.get(key)?.amps ?? 0), 0);
    if (!(amps > 0)) continue;
    sum += amps;
    if (winding && from !== undefined && windingBehind(circuit, from)?.winding === winding) own += amps;
  }
  // Of several supplies the output stage hangs on the largest.
  return winding ? (own > sum / 2 ? own : 0) : sum;
}

/** Direct current of the amplifying valves at idle. */
function drawn(analysis: Analysis, idle: Solution): number {
  let sum = 0;
  for (const { key } of amplifying(analysis.circuit))
    sum += Math.max(0, idle.readings.get(`${key}.cathode`)?.amps ?? 0);
  return sum;
}

/**
 * What a transformer's primary takes at full drive, nominal mains: what it takes at idle, with the share of its high-tension
 * winding grown by what drive adds to the direct current.
 * @returns volt-amperes; undefined where drive adds nothing, or the idle solution does not say enough
 */
export function drivenVoltAmperes(analysis: Analysis, transformer: Transformer): number | undefined {
  const idle = analysis.solution("idle", "nominal");
  const ht = transformer.secondaries.find((winding) => winding.volts.value > touchable.volts);
  if (!idle?.solved || !ht) return undefined;
  const still = idle.readings.get(transformer.reference)?.voltAmperes ?? 0;
  const share = idle.readings.get(`${transformer.reference}.${ht.name}`)?.voltAmperes ?? 0;
  const added = addedAmps(analysis, idle, "nominal");
  const direct = supplied(analysis, idle, {});
  if (!(added > 0) || !(direct > leastAmps) || !(share > 0)) return undefined;
  return still + share * ((1 + added / direct) ** rmsByDirect.exponent - 1);
}
