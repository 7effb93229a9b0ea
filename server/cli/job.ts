/** One file's check. */
import { check } from "../check.ts";
import { type FileReport, type ReportOptions, reportOf } from "../reports/report.ts";
import type { CheckOptions } from "../rules/rule.ts";
import { includeReader } from "./files.ts";
import type { Host } from "./host.ts";

/** One file to check, as plain data that crosses threads. */
export interface Job {
  readonly path: string;
  readonly text: string;
  readonly options: CheckOptions;
  readonly want: ReportOptions;
}

export interface Checked {
  readonly report: FileReport;
  /** The files that it includes, by the key that they were asked for. */
  readonly included: readonly string[];
}

/** Checks one file after another, each included file read once. */
export function checker(host: Pick<Host, "cwd">): (job: Job) => Checked {
  const read = includeReader(host);
  return ({ path, text, options, want }) => {
    const included = new Set<string>();
    const readInclude = (file: string) => {
      included.add(file);
      return read(file);
    };
    const report = reportOf(check(path, text, { ...options, readInclude }), want);
    return { report, included: [...included] };
  };
}
