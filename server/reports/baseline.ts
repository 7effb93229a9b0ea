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

type Counts = Readonly<Record<string, Readonly<Record<string, number>>>>;

/** Made up of what may be known of one file after another. */
export class BaselineMaker {
  private readonly byPath = new Map<string, Counts>();

  add(report: FileReport): void {
    const known = report.findings.filter(mayBeKnown);
    if (known.length === 0) return;
    const byRule: Record<string, Record<string, number>> = {};
    for (const finding of known) {
      byRule[finding.rule] ??= {};
      byRule[finding.rule][subject(finding)] = (byRule[finding.rule][subject(finding)] ?? 0) + 1;
    }
    this.byPath.set(
      report.path,
      sorted(byRule, (counts) => sorted(counts, (n) => n)),
    );
  }

  baseline(): Baseline {
    return { version: 1, findings: sorted(Object.fromEntries(this.byPath), (counts) => counts) };
  }
}

/** In the baseline, but found no more: to be taken out of it. */
export interface Gone {
  readonly path: string;
  readonly rule: string;
  readonly on: string;
  readonly count: number;
}

/**
 * One file's report with the known findings marked, and what is gone of that file. Files that a run doesn't check keep
 * their entries out of it: they are neither known nor gone.
 */
export function holdAgainst(
  report: FileReport,
  baseline: Baseline,
): { readonly report: FileReport; readonly gone: readonly Gone[] } {
  const left = new Map<string, Map<string, number>>();
  for (const [rule, counts] of Object.entries(baseline.findings[report.path] ?? {}))
    left.set(rule, new Map(Object.entries(counts)));
  const findings = report.findings.map((finding) => {
    const count = mayBeKnown(finding) ? (left.get(finding.rule)?.get(subject(finding)) ?? 0) : 0;
    if (count === 0) return finding;
    left.get(finding.rule)?.set(subject(finding), count - 1);
    return { ...finding, known: true };
  });
  const gone = [...left].flatMap(([rule, counts]) =>
    [...counts].flatMap(([on, count]) => (count > 0 ? [{ path: report.path, rule, on, count }] : [])),
  );
  return { report: { ...report, findings }, gone };
}

function sorted<A, B>(record: Record<string, A>, value: (a: A) => B): Record<string, B> {
  return Object.fromEntries(
    Object.entries(record)
      .sort(([a], [b]) => (a < b ? -1 : 1))
      .map(([key, inner]) => [key, value(inner)]),
  );
}
