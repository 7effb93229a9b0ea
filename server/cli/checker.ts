/** Checks one file after another. Here the core comes in: nothing loads this before there is a file to check. */
import { check } from "../check.ts";
import { reportOf } from "../reports/report.ts";
import { includeReader } from "./files.ts";
import type { Host } from "./host.ts";
import type { Checked, Job } from "./job.ts";

/** Each included file is read once. */
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
