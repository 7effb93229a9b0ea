/**
 * Known findings, so that only new ones fail: for taking up a collection that has findings already. Counts by file, rule
 * and what it is on; no line numbers, which any edit would move.
 */
import type { FileReport, ReportFinding } from "./report.ts";

export interface Baseline {
  readonly version: 1;
  /** File -> rule -> what it is on -> how many. */
  readonly findings: Readonly<Record<string, Readonly<Record<string, Readonly<Record<string, number>>>>>>;
}

/**
 * What may be put by: anything that stands and was checked, save an error of mains or earth. What can kill is not put by
 * in a list that nobody reads; it is waived in the netlist, with a reason, and stays in sight.
 */
export function mayBeKnown({ severity, rule, waived }: ReportFinding): boolean {
  return !waived && severity !== "unchecked" && !(severity === "error" && /^(mains|earth)\//.test(rule));
}

const subject = ({ on, text }: ReportFinding) => on.join(" ") || text.trim().replace(/\s+/g, " ");

export function baselineOf(reports: readonly FileReport[]): Baseline {
  const findings: Record<string, Record<string, Record<string, number>>> = {};
  for (const report of [...reports].sort((a, b) => (a.path < b.path ? -1 : 1))) {
    const known = report.findings.filter(mayBeKnown);
    if (known.length === 0) continue;
    const byRule: Record<string, Record<string, number>> = {};
    for (const finding of known) {
      byRule[finding.rule] ??= {};
      byRule[finding.rule][subject(finding)] = (byRule[finding.rule][subject(finding)] ?? 0) + 1;
    }
    findings[report.path] = sorted(byRule, (counts) => sorted(counts, (n) => n));
  }
  return { version: 1, findings };
}

export interface Held {
  /** The same reports, with known findings marked. */
  readonly reports: readonly FileReport[];
  readonly known: number;
  /** In the baseline, but found no more: to be taken out of it. */
  readonly gone: readonly {
    readonly path: string;
    readonly rule: string;
    readonly on: string;
    readonly count: number;
  }[];
}

/** Files that the run didn't check keep their entries out of it: they are neither known nor gone. */
export function holdAgainst(reports: readonly FileReport[], baseline: Baseline): Held {
  let known = 0;
  const gone: Held["gone"][number][] = [];
  const held = reports.map((report) => {
    const left = new Map<string, Map<string, number>>();
    for (const [rule, counts] of Object.entries(baseline.findings[report.path] ?? {}))
      left.set(rule, new Map(Object.entries(counts)));
    const findings = report.findings.map((finding) => {
      const count = mayBeKnown(finding) ? (left.get(finding.rule)?.get(subject(finding)) ?? 0) : 0;
      if (count === 0) return finding;
      left.get(finding.rule)?.set(subject(finding), count - 1);
      known++;
      return { ...finding, known: true };
    });
    for (const [rule, counts] of left)
      for (const [on, count] of counts) if (count > 0) gone.push({ path: report.path, rule, on, count });
    return { ...report, findings };
  });
  return { reports: held, known, gone };
}

function sorted<A, B>(record: Record<string, A>, value: (a: A) => B): Record<string, B> {
  return Object.fromEntries(
    Object.entries(record)
      .sort(([a], [b]) => (a < b ? -1 : 1))
      .map(([key, inner]) => [key, value(inner)]),
  );
}
