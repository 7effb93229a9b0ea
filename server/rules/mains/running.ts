/** The current that the primaries draw, running and rated. */
import type { CordOrInlet, MainsLevel, Region, Transformer, Winding } from "../../circuit/model.ts";
import { type CordRow, cordAmpacity } from "../../facts/mains.ts";
import type { Analysis, Solution, StateName } from "../../physics/results.ts";
import { quantity, solutions } from "../frame/index.ts";
import { drivenVoltAmperes } from "../supply/driven.ts";
import type { Primary } from "./graph.ts";

export interface Running {
  readonly amps: number;
  readonly state: StateName;
  readonly mains: MainsLevel;
}

/** The most that some primaries together draw from the mains, rms; undefined where it was not computed for one of them. */
export function runningAmps(
  analysis: Analysis,
  primaries: readonly Primary[],
  levels?: readonly MainsLevel[],
): Running | undefined {
  let most: Running | undefined;
  for (const solution of solutions(analysis, { levels })) {
    let amps = 0;
    for (const primary of primaries) {
      amps += drawnBy(primary, solution);
    }
    if (!most || amps > most.amps) {
      if (!Number.isNaN(amps)) most = { amps, state: solution.state, mains: solution.level };
    }
  }
  return most;
}

/**
 * The same at full drive of a sine, nominal mains, rms; undefined where drive adds nothing to any of them, or one is not known.
 */
export function drivenAmps(
  analysis: Analysis,
  primaries: readonly Primary[],
  mainsVolts: number,
): number | undefined {
  const idle = analysis.solution("idle", "nominal");
  if (!idle?.solved) return undefined;
  let grows = false;
  let amps = 0;
  for (const primary of primaries) {
    const driven = drivenVoltAmperes(analysis, primary.transformer);
    if (driven !== undefined) grows = true;
    amps += driven === undefined ? drawnBy(primary, idle) : driven / mainsVolts;
  }
  return grows && !Number.isNaN(amps) ? amps : undefined;
}

/** rms amperes out of the mains; NaN where they are not known. */
function drawnBy({ label, transformer, windings }: Primary, solution: Solution): number {
  const reading = solution.readings.get(label);
  // Two windings may stand side by side or one behind the other: what they take together tells the current.
  if (windings.length > 1)
    return (solution.readings.get(transformer.reference)?.voltAmperes ?? Number.NaN) / solution.mainsVolts;
  return reading?.rms ?? reading?.amps ?? Number.NaN;
}

/** The more of the two: running in any state, and at full drive of a sine, with what it is without drive in `note`. */
export function mostAmps(
  analysis: Analysis,
  primaries: readonly Primary[],
  mainsVolts: number,
): (Running & { readonly note?: string }) | undefined {
  const running = runningAmps(analysis, primaries);
  const driven = drivenAmps(analysis, primaries, mainsVolts);
  if (!running || driven === undefined || driven <= running.amps) return running;
  const idle = runningAmps(analysis, primaries, ["nominal"]) ?? running;
  return {
    amps: driven,
    state: "drive",
    mains: "nominal",
    note: `sine at full drive; ${quantity(idle.amps, "A")} at idle`,
  };
}

/** Rated primary current of a transformer: by its volt-amperes, or by what its windings are rated for; undefined if not said. */
export function ratedAmps(
  transformer: Transformer,
  mainsVolts: number,
  /** The part of its windings that the mains comes to. */
  onMains?: { readonly volts: number },
): number | undefined {
  const volts = onMains?.volts ?? transformer.primary?.volts.value ?? mainsVolts;
  if (transformer.voltAmperes) return transformer.voltAmperes.value / volts;
  const shares = transformer.secondaries.map(voltAmperesOf);
  if (shares.length === 0 || shares.some((share) => share === undefined)) return undefined;
  return shares.reduce<number>((sum, share) => sum + (share ?? 0), 0) / volts;
}

/** A centre-tapped winding's halves work in turn: each half's rms current on √2 of its volts in all. */
function voltAmperesOf(winding: Winding): number | undefined {
  if (!winding.amps) return undefined;
  const total = winding.segmentVolts.reduce((sum, volts) => sum + volts, 0);
  // The direct current of a capacitor-input supply costs about 1.6 times itself in rms (common practice).
  const amps = winding.amps.value * (winding.direct ? 1.6 : 1);
  return (winding.nets.length === 3 ? total / Math.SQRT2 : total) * amps;
}

/** What a cord or inlet carries: the less of its own rating and of what its cross-section allows; undefined where neither is said. */
export function entryAmps(
  entry: CordOrInlet,
  region: Region | undefined,
): { readonly amps: number; readonly source: string } | undefined {
  const written = entry.amps && { amps: entry.amps.value, source: "the file's rating of it" };
  const area = thinnest(entry);
  if (area === undefined) return written;
  const { rows, source } = (region && cordAmpacity.regions[region]) ?? cordAmpacity.other;
  const byArea = { amps: ampsFor(rows, area), source };
  return written && written.amps <= byArea.amps ? written : byArea;
}

/** Square metres of a cord's thinnest conductor that carries the mains, as far as the file says. */
export function thinnest({ squareMetres, leads }: CordOrInlet): number | undefined {
  const areas = [squareMetres, leads.get("active")?.squareMetres, leads.get("neutral")?.squareMetres]
    .filter((area) => area !== undefined)
    .map(({ value }) => value);
  return areas.length > 0 ? Math.min(...areas) : undefined;
}

/** The row of the largest cross-section that is not above; thinner than the first carries its share of it. */
function ampsFor(rows: readonly CordRow[], squareMetres: number): number {
  const row = rows.findLast((entry) => entry.squareMetres <= squareMetres * 1.001);
  return row ? row.amps : rows[0].amps * (squareMetres / rows[0].squareMetres);
}
