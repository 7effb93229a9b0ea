/** The words for the conditions that an amplifier goes through. */
import type { MainsLevel } from "../../circuit/model.ts";
import type { Analysis, StateName } from "../../physics/results.ts";
import { listed } from "./quantity.ts";

const STATE: Readonly<Record<StateName, string>> = {
  cold: "in cold start",
  standby: "in standby",
  idle: "at idle",
  drive: "at full drive",
  pulled: "with the output valves pulled",
};

/** As the heading of a column, and in tables. */
export const STATE_NAMES: Readonly<Record<StateName, string>> = {
  cold: "cold start",
  standby: "standby",
  idle: "idle",
  drive: "full drive",
  pulled: "output valves out",
};

/** "in cold start at high mains"; parts that are absent are left out. */
export function when(state?: StateName, mains?: MainsLevel): string {
  return [state && STATE[state], mains && `at ${mains} mains`].filter(Boolean).join(" ");
}

/** Which valves have gone cold in a state, as a sentence of its own; undefined where none do. */
export function alsoCold(analysis: Analysis, state?: StateName): string | undefined {
  const unlit = state === "pulled" || state === "standby" ? [...analysis.unlit(state)] : [];
  if (unlit.length === 0) return undefined;
  const names = listed(unlit, MOST_COLD);
  const several = unlit.length > 1;
  if (state === "standby")
    return `${names} ${several ? "are" : "is"} cold in it: the open switch takes ${several ? "their heaters'" : "its heater's"} current away.`;
  return several
    ? `${names} go cold with them: their heaters are in one string.`
    : `${names} goes cold with them: its heater is in one string with theirs.`;
}

const MOST_COLD = 4;

export const LEVELS: readonly MainsLevel[] = ["low", "nominal", "high"];
export const STATES: readonly StateName[] = ["cold", "standby", "idle", "drive", "pulled"];
