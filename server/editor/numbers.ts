/** Numbers for hovers, hints and lenses: bands and tables in one manner. */

import type { MainsLevel } from "../circuit/model.ts";
import type { Band, Solution, StateName } from "../physics/results.ts";
import { percent, type QuantityUnit, quantity } from "../rules/frame/quantity.ts";

export const STATE_NAMES: Readonly<Record<StateName, string>> = {
  cold: "cold start",
  standby: "standby",
  idle: "idle",
  drive: "full drive",
  pulled: "output valves out",
};

export const UNIT_OF_READING: Readonly<Record<string, QuantityUnit>> = {
  volts: "V",
  amps: "A",
  rms: "A",
  peak: "A",
  inverse: "V",
  watts: "W",
  rmsVolts: "V",
  peakVolts: "V",
  voltAmperes: "VA",
  ripple: "V",
  surge: "A",
};

/** "312 V", with "(304 to 320)" behind it where the parts' tolerances move it by more than a thousandth. */
export function bandText(band: Band, unit: QuantityUnit): string {
  const main = quantity(band.nominal, unit);
  const spread = Math.max(Math.abs(band.high - band.nominal), Math.abs(band.nominal - band.low));
  if (!Number.isFinite(spread) || spread <= Math.abs(band.nominal) * 1e-3) return main;
  return `${main} (${quantity(band.low, unit)} to ${quantity(band.high, unit)})`;
}

/** Ten cells of bar for a share of a limit; past the limit the bar is full and marked. */
export function bar(share: number): string {
  if (!Number.isFinite(share)) return "";
  const filled = Math.max(0, Math.min(10, Math.round(share * 10)));
  return `${"▰".repeat(filled)}${"▱".repeat(10 - filled)}${share > 1 ? " over" : ""}`;
}

export function shareText(share: number): string {
  return Number.isFinite(share) ? percent(share) : "–";
}

/** Table cells must not break the table. */
export function cell(text: string): string {
  return text.replaceAll("|", "\\|").replaceAll("\n", " ");
}

export function table(head: readonly string[], rows: readonly (readonly string[])[]): string {
  if (rows.length === 0) return "";
  return [
    `| ${head.join(" | ")} |`,
    `|${head.map(() => " --- ").join("|")}|`,
    ...rows.map((row) => `| ${row.map(cell).join(" | ")} |`),
  ].join("\n");
}

export const LEVELS: readonly MainsLevel[] = ["low", "nominal", "high"];

/** Volts of a net as one cell, empty where nothing fixes it. */
export function netCell(solution: Solution | undefined, net: number, figures = 3): string {
  const volts = solution?.volts[net];
  return volts === undefined || Number.isNaN(volts) ? "–" : quantity(volts, "V", figures);
}
