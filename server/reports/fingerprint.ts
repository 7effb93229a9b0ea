/**
 * Names for findings that outlast moved lines, changed values and other findings: the file, the rule, and what it is on,
 * never a line number. Findings alike in all of that are numbered in their order.
 */
import type { FileReport, ReportFinding } from "./report.ts";

/** 64-bit FNV-1a (Fowler, Noll, Vo) over UTF-16 code units, sixteen hexadecimal digits. Tells apart; hides nothing. */
export function hash(text: string): string {
  // In halves of 32 bits, which is ten times as fast as with large integers. The prime is 2^40 + 0x1b3.
  let high = 0xcbf29ce4;
  let low = 0x84222325;
  for (let i = 0; i < text.length; i++) {
    low = (low ^ text.charCodeAt(i)) >>> 0;
    const product = low * 0x1b3;
    high = (high * 0x1b3 + Math.floor(product / 0x100000000) + low * 0x100) % 0x100000000;
    low = product % 0x100000000;
  }
  return high.toString(16).padStart(8, "0") + low.toString(16).padStart(8, "0");
}

/** What stays the same about a finding while the file is edited around it. */
export function identity(path: string, finding: ReportFinding): string {
  // A finding on nothing in particular (an unfinished line) is told by what the line says.
  const on = finding.on.length > 0 ? finding.on.join(" ") : finding.text.trim().replace(/\s+/g, " ");
  return [path, finding.rule, on].join("\n");
}

/**
 * Names the findings of one report after another.
 * @param paths of all reports: what was seen of a file is forgotten after it, unless one of the same name comes again
 * @returns one name per finding, in order, each different from all others of the reports
 */
export function fingerprints(paths: readonly string[]): (report: FileReport) => readonly string[] {
  const again = new Map<string, Map<string, number>>();
  const met = new Set<string>();
  for (const path of paths) {
    if (met.has(path)) again.set(path, new Map());
    met.add(path);
  }
  return ({ path, findings }) => {
    const seen = again.get(path) ?? new Map<string, number>();
    return findings.map((finding) => {
      const own = identity(path, finding);
      const nth = seen.get(own) ?? 0;
      seen.set(own, nth + 1);
      return hash(nth === 0 ? own : `${own}\n${nth}`);
    });
  };
}
