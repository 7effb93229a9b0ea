/** Numbers for hovers, hints and lenses: bands and tables in one manner. */

import type { Band, Solution } from "../physics/results.ts";
import { metered, percent, type QuantityUnit } from "../rules/frame/quantity.ts";

export { LEVELS, STATE_NAMES } from "../rules/frame/state.ts";

/** "312 V", with "(304 to 320 V)" behind it where the parts' tolerances move it by more than a thousandth. */
export function bandText(band: Band, unit: QuantityUnit): string {
  const main = metered(band.nominal, unit);
  const spread = Math.max(Math.abs(band.high - band.nominal), Math.abs(band.nominal - band.low));
  const none = metered(spread, unit).startsWith("0 ");
  if (!Number.isFinite(spread) || none || spread <= Math.abs(band.nominal) * 1e-3) return main;
  const [low, lowUnit] = metered(band.low, unit).split(" ");
  const [high, highUnit] = metered(band.high, unit).split(" ");
  return `${main} (${lowUnit === highUnit ? low : `${low} ${lowUnit}`} to ${high} ${highUnit})`;
}

/** Volts of a net, "259 V ac" where they are a winding's; undefined where nothing fixes them. */
export function netVolts(solution: Solution, net: number): string | undefined {
  const volts = solution.volts[net];
  const alternating = solution.rms[net];
  if (alternating > 0.5 && !(alternating <= Math.abs(volts) / 2)) return `${metered(alternating, "V")} ac`;
  return Number.isFinite(volts) ? metered(volts, "V") : undefined;
}

/** Ten cells of bar for a share of a limit; past the limit the bar is full. */
export function bar(share: number): string {
  if (!Number.isFinite(share)) return "";
  const filled = Math.max(0, Math.min(10, Math.round(share * 10)));
  return `${"▰".repeat(filled)}${"▱".repeat(10 - filled)}`;
}

export function shareText(share: number): string {
  if (!Number.isFinite(share)) return "–";
  return share > 0 && share < 0.005 ? "under 1 %" : percent(share);
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

/** Volts of a net as one cell, a dash where nothing fixes it. */
export function netCell(solution: Solution | undefined, net: number): string {
  return (solution && netVolts(solution, net)) ?? "–";
}
