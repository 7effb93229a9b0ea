/** The worst that full drive makes of an electrode. */
import type { MainsLevel } from "../../circuit/model.ts";
import type { Analysis } from "../../physics/results.ts";
import type { Where } from "../frame/index.ts";
import { LEVELS } from "../frame/index.ts";

export interface Driven {
  readonly value: number;
  readonly mains: MainsLevel;
  /** Share of the grid swing at the onset of clipping or grid current, 0..1. */
  readonly level: number;
  /** Reference of the output transformer. */
  readonly stage: string;
}

/** Dissipation of an electrode (`V3.plate`) at its worst over the sweep, at the mains levels that the limit asks for, with `average` that valve
 * taken as average. */
export function drivenWatts(
  analysis: Analysis,
  key: string,
  where: Where,
  average?: string,
): Driven | undefined {
  let found: Driven | undefined;
  for (const mains of where.levels ?? LEVELS) {
    for (const stage of analysis.drive(mains)) {
      const most = stage.worst.get(key);
      if (!most || Number.isNaN(most.watts)) continue;
      const value =
        where.tolerance === "nominal" ? most.watts : spreadWatts(analysis, key, mains, most.watts, average);
      if (!found || value > found.value) found = { value, mains, level: most.level, stage: stage.stage };
    }
  }
  return found;
}

/** Average amperes of an electrode at the onset and below it, the most. */
export function drivenAmps(analysis: Analysis, key: string, where: Where): Driven | undefined {
  let found: Driven | undefined;
  for (const mains of where.levels ?? LEVELS) {
    for (const stage of analysis.drive(mains)) {
      for (const { level, readings } of stage.levels) {
        const amps = readings.get(key)?.amps;
        if (amps === undefined || Number.isNaN(amps)) continue;
        if (!found || amps > found.value) found = { value: amps, mains, level, stage: stage.stage };
      }
    }
  }
  return found;
}

/**
 * A driven dissipation with part tolerances, from what they do at idle: a higher supply lifts all of it (as its square), a
 * warmer bias adds what it adds at idle. Taken in proportion, the second would multiply what a stage near cut-off hardly has.
 */
function spreadWatts(
  analysis: Analysis,
  key: string,
  mains: MainsLevel,
  watts: number,
  average?: string,
): number {
  const idle = analysis.solution("idle", mains);
  const band = idle?.band(key, "watts", average);
  if (!band || !(band.high >= band.nominal)) return watts;
  const volts = idle?.band(key, "volts");
  const lift =
    volts && volts.nominal > 0 && volts.high > volts.nominal ? (volts.high / volts.nominal) ** 2 : 1;
  const warmer = Math.max(0, band.high - band.nominal * lift);
  return watts * lift + warmer;
}

/** Below this share of the drive it is idle that is told. */
const NO_DRIVE = 0.02;
const FULL_DRIVE = 0.98;

/** The state that a worst point below full drive belongs to, and its words: "at 63 % of the drive to clipping". */
export function drivenState({ level }: Driven): {
  readonly state: "drive" | "idle";
  readonly stateWords?: string;
} {
  if (level < NO_DRIVE) return { state: "idle" };
  if (level > FULL_DRIVE) return { state: "drive" };
  return { state: "drive", stateWords: `at ${Math.round(level * 100)} % of the drive to clipping` };
}
