/** What a part does at idle and nominal mains: volts, current, power, each as a meter would show it. */
import type { CheckResult } from "../../check.ts";
import type { ReadingName, Solution } from "../../physics/results.ts";
import { metered } from "../../rules/frame/quantity.ts";
import { bandText, table } from "../numbers.ts";

const VOLTS = 5e-4;
const AMPS = 5e-8;
/** An alternating part that raises the rms by less than this is ripple on a direct value. */
const MOSTLY_DIRECT = 1.2;

/** @param row a winding's name, to show that alone, with its halves */
export function readings(result: CheckResult, reference: string, row?: string): string {
  const solution = result.analysis.solution("idle", "nominal");
  if (!solution) return "";
  const prefix = row ? `${reference}.${row}` : reference;
  const keys = [...solution.readings.keys()].filter((key) => key === prefix || key.startsWith(`${prefix}.`));
  const rows = keys
    // One segment of a winding says the same as the winding; of several, each is told where the winding alone is asked for.
    .filter((key) => !/\.\d+$/.test(key) || (row !== undefined && keys.includes(`${prefix}.2`)))
    .map((key) => ({
      key,
      volts: voltsOf(solution, key),
      current: currentOf(solution, key),
      power: powerOf(solution, key),
      ripple: rippleOf(solution, key),
    }))
    .filter(({ volts, current, power }) => volts !== "" || current !== "" || power !== "")
    .filter(({ volts, current }, _, all) => all.length === 1 || volts !== "" || current !== "");
  if (rows.length === 0) return "";
  const columns = (["volts", "current", "power", "ripple"] as const).filter((name) =>
    rows.some((entry) => entry[name] !== ""),
  );
  return table(
    ["at idle", ...columns.map((name) => (name === "ripple" ? "ripple p-p" : name))],
    rows.map((entry) => [entry.key, ...columns.map((name) => entry[name] || "–")]),
  );
}

function value(solution: Solution, key: string, name: ReadingName): number {
  return solution.readings.get(key)?.[name] ?? Number.NaN;
}

function withBand(solution: Solution, key: string, name: ReadingName, unit: "V" | "A" | "W"): string {
  const nominal = value(solution, key, name);
  const band = solution.band(key, name) ?? { nominal, low: nominal, high: nominal };
  // Which end counts as the first is the netlist's order, and says nothing at the bench.
  return bandText(
    band.nominal < 0 ? { nominal: -band.nominal, low: -band.high, high: -band.low } : band,
    unit,
  );
}

export function voltsOf(solution: Solution, key: string): string {
  const direct = Math.abs(value(solution, key, "volts"));
  const rms = value(solution, key, "rmsVolts");
  if (rms > VOLTS && !(rms <= direct * MOSTLY_DIRECT))
    return `${withBand(solution, key, "rmsVolts", "V")} rms`;
  return direct > VOLTS ? withBand(solution, key, "volts", "V") : "";
}

export function currentOf(solution: Solution, key: string): string {
  const direct = Math.abs(value(solution, key, "amps"));
  const rms = value(solution, key, "rms");
  if (rms > AMPS && !(rms <= direct * MOSTLY_DIRECT)) {
    const peak = value(solution, key, "peak");
    return [
      `${withBand(solution, key, "rms", "A")} rms`,
      direct > rms / 100 ? `${metered(direct, "A")} dc` : "",
      peak > 2 * rms ? `${metered(peak, "A")} peak` : "",
    ]
      .filter(Boolean)
      .join(", ");
  }
  return direct > AMPS ? withBand(solution, key, "amps", "A") : "";
}

export function powerOf(solution: Solution, key: string): string {
  const apparent = value(solution, key, "voltAmperes");
  if (apparent > 0.05) return metered(apparent, "VA");
  return value(solution, key, "watts") > 5e-7 ? withBand(solution, key, "watts", "W") : "";
}

function rippleOf(solution: Solution, key: string): string {
  return value(solution, key, "ripple") > 1e-3 ? metered(value(solution, key, "ripple"), "V") : "";
}
