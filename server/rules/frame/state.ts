/** The words for the conditions that an amplifier goes through. */
import type { MainsLevel } from "../../circuit/model.ts";
import type { StateName } from "../../physics/results.ts";

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

export const LEVELS: readonly MainsLevel[] = ["low", "nominal", "high"];
export const STATES: readonly StateName[] = ["cold", "standby", "idle", "drive", "pulled"];
