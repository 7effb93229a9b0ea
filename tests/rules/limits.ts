/** Helpers for tests of limits: texts just inside and just outside, by a value that Ohm's law gives or the physics tells. */
import { expect } from "vitest";
import { check } from "../../server/check.ts";
import type { Analysis } from "../../server/physics/results.ts";
import type { CheckOptions, Finding } from "../../server/rules/rule.ts";

const today = "2026-01-15";

export const findingsOf = (text: string, options: CheckOptions = {}): readonly Finding[] =>
  check("test.ampnet", text, { today, ...options }).findings;

export const analysisOf = (text: string): Analysis => check("test.ampnet", text, { today }).analysis;

/** Findings of a rule on a part; every severity. */
export const told = (text: string, rule: string, on: string, options?: CheckOptions): readonly Finding[] =>
  findingsOf(text, options).filter((finding) => finding.rule === rule && finding.on.includes(on));

/** The finding at error level, or undefined. */
export const errorOn = (text: string, rule: string, on: string): Finding | undefined =>
  told(text, rule, on).find((finding) => finding.severity === "error");

/** Unchecked hints on a part, joined. */
export const missed = (text: string, on: string): string =>
  findingsOf(text)
    .filter((finding) => finding.severity === "unchecked" && finding.on.includes(on))
    .map((finding) => finding.message)
    .join(" ");

/**
 * A text with a value in it, just under and just over its limit: no error under it, one over it, and the finding tells the value
 * and the limit that were asked for.
 */
export function holdsAt(input: {
  readonly rule: string;
  readonly on: string;
  readonly text: (value: number) => string;
  readonly limit: number;
  /** Parts of the limit that the two texts stand away from it. */
  readonly step?: number;
  readonly severity?: "error" | "warning" | "advice";
  /** What the finding's own value is for a value in the text. */
  readonly tells?: (value: number) => number;
  readonly state?: string;
  readonly below?: boolean;
}): void {
  const { rule, on, text, limit, step = 0.001, severity = "error", tells = (value) => value, below } = input;
  const inside = limit * (below ? 1 + step : 1 - step);
  const outside = limit * (below ? 1 - step : 1 + step);
  const grave = (found: readonly Finding[]) => found.filter((finding) => finding.severity === severity);
  expect(
    grave(told(text(inside), rule, on)).map((finding) => finding.message),
    `${rule} at ${inside}`,
  ).toEqual([]);
  const [found] = grave(told(text(outside), rule, on));
  expect(found, `${rule} at ${outside}`).toBeDefined();
  expect(found.value).toBeCloseTo(tells(outside), 5 - Math.ceil(Math.log10(Math.abs(tells(outside)) + 1e-9)));
  if (input.state !== undefined) expect(found.state).toBe(input.state);
}

/**
 * The parameter at which a reading reaches a target, by bisection; the reading must rise with it.
 * @param of the reading for a parameter
 */
export function where(of: (parameter: number) => number, target: number, low: number, high: number): number {
  let [a, b] = [low, high];
  for (let i = 0; i < 40; i++) {
    const middle = (a + b) / 2;
    if (of(middle) < target) a = middle;
    else b = middle;
    if (b - a < 1e-7 * Math.abs(b)) break;
  }
  return (a + b) / 2;
}
