/** How much more the supply gives at full drive than at idle. */
import type { MainsLevel, NetIndex, Transformer } from "../../circuit/model.ts";
import { discharge as touchable } from "../../facts/practice.ts";
import { rmsByDirect } from "../../facts/supply.ts";
import type { Analysis, Solution } from "../../physics/results.ts";
import { amplifying } from "../shared/sections.ts";

export interface DrivenSupply {
  /** Current at full drive over that at idle. */
  readonly factor: number;
  /** What full drive adds, amperes. */
  readonly added: number;
}

/**
 * The output stages draw more when driven: plates and screens together, against the same at idle. What else the supply feeds
 * stays.
 * @param output a net of the supply: its current at idle is what its rectifier gives
 * @returns undefined without an output stage that draws more
 */
export function drivenSupply(
  analysis: Analysis,
  output: NetIndex,
  levels: readonly MainsLevel[] = ["nominal", "high"],
): DrivenSupply | undefined {
  let found: DrivenSupply | undefined;
  for (const level of levels) {
    const idle = analysis.solution("idle", level);
    if (!idle?.solved) continue;
    const added = addedAmps(analysis, idle, level);
    const now = supplied(analysis, idle, output);
    if (!(added > 0) || !(now > 0)) continue;
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

/** Everything that rectifiers push into a net at idle, or what the output valves draw where none is found. */
function supplied(analysis: Analysis, idle: Solution, output: NetIndex): number {
  let sum = 0;
  for (const section of amplifying(analysis.circuit)) {
    sum += Math.max(0, idle.readings.get(`${section.key}.plate`)?.amps ?? 0);
    sum += Math.max(0, idle.readings.get(`${section.key}.screen`)?.amps ?? 0);
  }
  // A bleeder's share is small beside the valves'; it makes the factor a little smaller, never larger.
  const volts = idle.volts[output];
  return Number.isFinite(volts) ? sum : 0;
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
  const direct = directOf(analysis, idle);
  if (!(added > 0) || !(direct > 0) || !(share > 0)) return undefined;
  return still + share * ((1 + added / direct) ** rmsByDirect.exponent - 1);
}

/** Direct current of the amplifying valves at idle. */
function directOf(analysis: Analysis, idle: Solution): number {
  let sum = 0;
  for (const { key } of amplifying(analysis.circuit))
    sum += Math.max(0, idle.readings.get(`${key}.cathode`)?.amps ?? 0);
  return sum;
}
