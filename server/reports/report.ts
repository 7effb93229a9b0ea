/**
 * A checked file as plain data: what every report is made from, and what crosses threads and rests in caches.
 * Offsets become lines here and nowhere else.
 */
import { positionAt } from "../../grammar/positions.ts";
import type { CheckResult } from "../check.ts";
import type { MainsLevel, Place } from "../circuit/model.ts";
import type { StateName } from "../physics/results.ts";
import type { Finding, Margin, Severity } from "../rules/rule.ts";

/** Zero-based, characters in UTF-16 code units, as the language server protocol counts them. */
export interface Position {
  readonly line: number;
  readonly character: number;
}

export interface LineRange {
  readonly start: Position;
  readonly end: Position;
}

export interface ReportRelated {
  readonly on: string;
  readonly message: string;
  readonly file: string;
  readonly range: LineRange;
  /** The source line that the range starts on; of a very long one the piece around it. */
  readonly text: string;
  /** Where in the line that piece begins; absent for a whole line. */
  readonly textFrom?: number;
}

export interface ReportFinding {
  readonly rule: string;
  readonly severity: Severity;
  readonly message: string;
  /** References or nets, the leading one first. */
  readonly on: readonly string[];
  /** The file it stands in: the report's own, or one that it includes. */
  readonly file: string;
  readonly range: LineRange;
  /** The source line that the range starts on; of a very long one the piece around it. */
  readonly text: string;
  /** Where in the line that piece begins; absent for a whole line. */
  readonly textFrom?: number;
  readonly related: readonly ReportRelated[];
  readonly state: StateName | null;
  readonly mains: MainsLevel | null;
  /** SI units; null where the rule compares no number. */
  readonly value: number | null;
  readonly limit: number | null;
  readonly unit: string | null;
  readonly source: string | null;
  readonly waived: { readonly reason: string; readonly until: string | null } | null;
  /** True where a baseline has it: told, and no reason to fail. */
  readonly known?: boolean;
  /** The rule of the finding that this one follows from. */
  readonly follows: string | null;
  /** Looked for only when asked, since each is tried on the whole file before it is offered. */
  readonly fix: {
    readonly title: string;
    readonly edits: readonly { readonly file: string; readonly range: LineRange; readonly text: string }[];
  } | null;
}

export interface FileReport {
  /** As the user gave it, or below the folder given, with `/` between folders. */
  readonly path: string;
  readonly amp: string | null;
  /** Sorted as the check sorts them; waived ones stay, marked. */
  readonly findings: readonly ReportFinding[];
  /** Limits held against a number. */
  readonly checked: number;
  /** Limits that could not be checked. */
  readonly unchecked: number;
  /** True of a file that could not be read: its one finding says why. */
  readonly unread?: true;
  /** Every limit that was held against a number; only when asked for. */
  readonly margins?: readonly Margin[];
}

export interface ReportOptions {
  readonly fixes?: boolean;
  readonly margins?: boolean;
}

export function reportOf(result: CheckResult, options: ReportOptions = {}): FileReport {
  const locate = locator(result);
  return {
    path: result.file,
    amp: result.circuit.name ?? null,
    findings: result.findings.map((finding) => findingOf(finding, locate, options.fixes === true)),
    checked: result.checked,
    unchecked: result.unchecked,
    ...(options.margins ? { margins: result.margins } : {}),
  };
}

type Locate = (place: Place) => {
  readonly file: string;
  readonly range: LineRange;
  readonly text: string;
  readonly textFrom?: number;
};

/** Lines longer than this are told in part: a file of one line would stand in its report once for each finding. */
const LONGEST_LINE = 1000;
/** Kept before the place. */
const LEAD_IN = 200;

function findingOf(finding: Finding, locate: Locate, fixes: boolean): ReportFinding {
  const fix = fixes ? finding.fix : undefined;
  return {
    rule: finding.rule,
    severity: finding.severity,
    message: finding.message,
    on: finding.on,
    ...locate(finding.place),
    related: finding.related.map(({ on, message, place }) => ({ on, message, ...locate(place) })),
    state: finding.state ?? null,
    mains: finding.mains ?? null,
    value: finite(finding.value),
    limit: finite(finding.limit),
    unit: finding.unit ?? null,
    source: finding.source ?? null,
    waived: finding.waived ? { reason: finding.waived.reason, until: finding.waived.until ?? null } : null,
    follows: finding.follows ?? null,
    fix: fix
      ? {
          title: fix.title,
          edits: fix.edits.map(({ place, text }) => {
            const { file, range } = locate(place);
            return { file, range, text };
          }),
        }
      : null,
  };
}

/** Places to lines, by the texts that were read. A place in a file that wasn't read stands at its start. */
export function locator(result: Pick<CheckResult, "sources">): Locate {
  return ({ file, range }) => {
    const source = result.sources.get(file);
    if (!source) return { file, range: { start: origin, end: origin }, text: "" };
    const { lineStarts } = source.tree;
    const start = positionAt(lineStarts, Math.min(range.start, source.text.length));
    const end = positionAt(lineStarts, Math.min(Math.max(range.end, range.start), source.text.length));
    const from = lineStarts[start.line];
    const to = lineStarts[start.line + 1] ?? source.text.length;
    if (to - from > LONGEST_LINE) {
      const textFrom = Math.max(0, Math.min(start.character - LEAD_IN, to - from - LONGEST_LINE));
      const piece = source.text.slice(from + textFrom, from + textFrom + LONGEST_LINE);
      return { file, range: { start, end }, text: piece.replace(/[\r\n]+$/, ""), textFrom };
    }
    const text = source.text.slice(from, to).replace(/[\r\n]+$/, "");
    return { file, range: { start, end }, text };
  };
}

const origin: Position = { line: 0, character: 0 };

/** JSON knows no NaN and no infinity. */
export function finite(value: number | undefined): number | null {
  return value !== undefined && Number.isFinite(value) ? value : null;
}
