/** What a run comes to, in numbers and in words. */
import type { Severity } from "../rules/rule.ts";
import type { FileReport, ReportFinding } from "./report.ts";
import { count } from "./units.ts";

export interface Summary {
  readonly files: number;
  /** Findings that stand, by severity; waived ones are counted in `waived` alone. */
  readonly error: number;
  readonly warning: number;
  readonly advice: number;
  readonly waived: number;
  /** In a baseline, and counted nowhere else. */
  readonly known: number;
  /** Limits held against a number, passed or breached. */
  readonly checked: number;
  /** Limits passed by what happens in the circuit, waived or not. */
  readonly breached: number;
  /** Limits that could not be checked. */
  readonly unchecked: number;
}

/** What a run adds up, file by file. */
export interface Tally extends Summary {
  /** Findings that stand and could not be checked; with them, every finding that stands is counted by its severity. */
  readonly open: number;
}

export const noTally: Tally = {
  files: 0,
  error: 0,
  warning: 0,
  advice: 0,
  open: 0,
  waived: 0,
  known: 0,
  checked: 0,
  breached: 0,
  unchecked: 0,
};

export function tallyOf({ findings, checked, unchecked }: FileReport): Tally {
  const sum = { ...noTally, files: 1, checked, unchecked };
  for (const finding of findings) {
    if (isBreach(finding)) sum.breached++;
    if (finding.waived) sum.waived++;
    else if (finding.known) sum.known++;
    else if (finding.severity === "unchecked") sum.open++;
    else sum[finding.severity]++;
  }
  return sum;
}

export function addTallies(one: Tally, other: Tally): Tally {
  return {
    files: one.files + other.files,
    error: one.error + other.error,
    warning: one.warning + other.warning,
    advice: one.advice + other.advice,
    open: one.open + other.open,
    waived: one.waived + other.waived,
    known: one.known + other.known,
    checked: one.checked + other.checked,
    breached: one.breached + other.breached,
    unchecked: one.unchecked + other.unchecked,
  };
}

export function summarise(reports: readonly FileReport[]): Summary {
  const { open: _, ...summary } = reports.map(tallyOf).reduce(addTallies, noTally);
  return summary;
}

/** A limit passed: an error or warning that isn't about how the file is written. */
function isBreach(finding: ReportFinding): boolean {
  return (
    (finding.severity === "error" || finding.severity === "warning") && !finding.rule.startsWith("circuit/")
  );
}

/** How grave: a higher one stands above a lower. */
export const ranks: Readonly<Record<Severity, number>> = { error: 3, warning: 2, advice: 1, unchecked: 0 };

/** Neither waived in the file nor known from a baseline. */
export const stands = (finding: ReportFinding): boolean => !finding.waived && !finding.known;

/** What stands, and what may be waived but never out of sight: errors of the mains and the earth. */
export const inSight = (finding: ReportFinding): boolean =>
  stands(finding) ||
  Boolean(finding.waived && finding.severity === "error" && /^(mains|earth)\//.test(finding.rule));

/** A finding's message; of a waived one with the reason before it. */
export function messageOf({ message, waived }: ReportFinding): string {
  if (!waived) return message;
  return `Waived${waived.until ? ` until ${waived.until}` : ""} (${waived.reason}): ${message}`;
}

/** Whether anything stands at this severity or above it. */
export function standsAt({ error, warning, advice, open }: Tally, severity: Severity): boolean {
  const counts = { error, warning, advice, unchecked: open };
  return severities.some((one) => counts[one] > 0 && ranks[one] >= ranks[severity]);
}

const severities: readonly Severity[] = ["error", "warning", "advice", "unchecked"];

/**
 * Shown under every summary: what stands in a report is no leave to touch a chassis.
 * Common practice of the trade; local codes go further.
 */
export const caution =
  "This tells what was calculated from the file, and nothing about the amplifier on the bench; it is never a proof of " +
  "safety. Inside stand lethal voltages, also after switching off. Before touching anything: pull the mains plug, let " +
  "the capacitors discharge, measure that they have, and keep one hand out of it. Mains and earth wiring is for a " +
  "qualified person, under the local codes.";

/** Three sentences: findings, limits, and that the unchecked isn't good. */
export function summaryLines(summary: Summary): string[] {
  const { files, error, warning, advice, waived, known, checked, breached, unchecked } = summary;
  if (files === 0) return ["No file is in this part of the run: nothing was checked."];
  const found = [
    error > 0 && count(error, "error"),
    warning > 0 && count(warning, "warning"),
    advice > 0 && count(advice, "piece of advice", "pieces of advice"),
  ].filter((part) => part !== false);
  const findings = found.length > 0 ? found.join(", ") : "nothing found among what was checked";
  const beside = [waived > 0 && `${waived} waived`, known > 0 && `${known} known from the baseline`];
  const aside = beside.filter((part) => part !== false).map((part) => `; ${part}`);
  const lines = [
    `${count(files, "file")}: ${findings}${aside.join("")}.`,
    `${count(checked, "limit")} checked, ${breached} breached; ${unchecked} could not be checked.`,
  ];
  if (checked === 0) lines.push("Nothing was held against a limit: this says nothing about the amplifier.");
  else if (unchecked > 0)
    lines.push(
      "What could not be checked is not good: it is unknown, nearly always for want of what the file doesn't say.",
    );
  return lines;
}
