/** `derate check PATH…` */
import { check as checkText } from "../../check.ts";
import { jsonReport } from "../../reports/json.ts";
import { reportOf } from "../../reports/report.ts";
import { standsAt } from "../../reports/summary.ts";
import { textReport } from "../../reports/text.ts";
import { findNetlists, includeReader, readNetlists } from "../files.ts";
import type { Host } from "../host.ts";
import { type ColourOption, page } from "../page.ts";
import { status, UsageError } from "../status.ts";

export interface CheckCommandOptions extends ColourOption {
  readonly format: "text" | "json";
  readonly quiet?: boolean;
  readonly summary?: boolean;
  readonly today?: string;
}

export function check(paths: readonly string[], options: CheckCommandOptions, host: Host): number {
  const today = day(options.today) ?? host.today;
  const files = readNetlists(findNetlists(paths, host));
  const readInclude = includeReader(host);
  const reports = files.map(({ file, text }) => reportOf(checkText(file.path, text, { today, readInclude })));
  host.out(
    options.format === "json"
      ? jsonReport(reports)
      : textReport(reports, { ...page(options, host), quiet: options.quiet, summary: options.summary }),
  );
  return standsAt(reports, "error") ? status.findings : status.clean;
}

function day(text: string | undefined): string | undefined {
  if (text === undefined) return undefined;
  const date = new Date(`${text}T00:00:00Z`);
  if (
    /^\d{4}-\d{2}-\d{2}$/.test(text) &&
    !Number.isNaN(date.getTime()) &&
    date.toISOString().startsWith(text)
  )
    return text;
  throw new UsageError(`--today ${text}: not a date; write it as 2027-03-01`);
}
