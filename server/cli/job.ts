/** What is to be checked, and what comes of it. */
import type { FileReport, ReportOptions } from "../reports/report.ts";
import type { CheckOptions } from "../rules/rule.ts";

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

/** A file to check whose text is read when its turn comes: a collection's texts are never held all at once. */
export interface JobSource extends Omit<Job, "text"> {
  /** Of the text as it was found; only where it was asked for. */
  readonly digest?: string;
  /** @throws UsageError where the file can be read no more */
  read(): string;
}

export function jobOf({ path, options, want, read }: JobSource): Job {
  return { path, text: read(), options, want };
}
