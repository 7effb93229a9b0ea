/**
 * Names for findings that outlast moved lines, changed values and other findings: the file, the rule, and what it is on,
 * never a line number. Findings alike in all of that are numbered in their order.
 */
import type { FileReport, ReportFinding } from "./report.ts";

/** 64-bit FNV-1a (Fowler, Noll, Vo) over UTF-16 code units, sixteen hexadecimal digits. Tells apart; hides nothing. */
export function hash(text: string): string {
  let value = 0xcbf29ce484222325n;
  for (let i = 0; i < text.length; i++)
    value = BigInt.asUintN(64, (value ^ BigInt(text.charCodeAt(i))) * 0x100000001b3n);
  return value.toString(16).padStart(16, "0");
}

/** What stays the same about a finding while the file is edited around it. */
export function identity(path: string, finding: ReportFinding): string {
  // A finding on nothing in particular (an unfinished line) is told by what the line says.
  const on = finding.on.length > 0 ? finding.on.join(" ") : finding.text.trim().replace(/\s+/g, " ");
  return [path, finding.rule, on].join("\n");
}

/** One per finding, in order, each different from all others of the reports. */
export function fingerprints(reports: readonly FileReport[]): ReadonlyMap<ReportFinding, string> {
  const seen = new Map<string, number>();
  const names = new Map<ReportFinding, string>();
  for (const report of reports) {
    for (const finding of report.findings) {
      const own = identity(report.path, finding);
      const nth = seen.get(own) ?? 0;
      seen.set(own, nth + 1);
      names.set(finding, hash(nth === 0 ? own : `${own}\n${nth}`));
    }
  }
  return names;
}
