/** What is told of a netlist that can't be read: a finding at its place, so that every format has it, and no other file is lost. */
import type { FileReport } from "../reports/report.ts";
import { type Tally, tallyOf } from "../reports/summary.ts";
import type { Host } from "./host.ts";
import type { JobSource } from "./job.ts";
import { isUsageError, status } from "./status.ts";

/** A file's result. A kept one is read in full only when its report is asked for. */
export interface Found {
  readonly tally: Tally;
  /** Why the file could not be read; its report says so, and nothing else. */
  readonly unread?: string;
  report(): FileReport;
}

/** How a message calls what comes from standard input, whatever name it was given. */
export const inputName = "standard input";

/** The name that it has where none is given: in reports, and for the configuration that counts for it. */
export const inputPath = "standard-input.ampnet";

const start = { line: 0, character: 0 };

/** @param path as the report names the file @param why as `readNetlist` words it, the path before it */
export function unreadFound({ path }: Pick<JobSource, "path">, why: string): Found {
  const report = unreadReport(path, why);
  return { tally: tallyOf(report), unread: why, report: () => report };
}

function unreadReport(path: string, why: string): FileReport {
  const named = [path, inputName].find((name) => why.startsWith(`${name}: `));
  const reason = named === undefined ? why : why.slice(named.length + 2);
  return {
    path,
    amp: null,
    findings: [
      {
        rule: "circuit/syntax",
        severity: "error",
        message: `This file could not be read, and nothing in it has been checked: ${reason}${reason.endsWith("?") ? "" : "."}`,
        on: [],
        file: path,
        range: { start, end: start },
        text: "",
        related: [],
        state: null,
        mains: null,
        value: null,
        limit: null,
        unit: null,
        source: null,
        waived: null,
        follows: null,
        fix: null,
      },
    ],
    checked: 0,
    unchecked: 0,
    unread: true,
  };
}

/**
 * What `read` gives, or why it could not.
 * @throws whatever is no matter of the file itself
 */
export function readOr<T>(read: () => T): { readonly value: T } | { readonly why: string } {
  try {
    return { value: read() };
  } catch (error) {
    if (!isUsageError(error)) throw error;
    return { why: error.message };
  }
}

/** Says which files could not be read; that outranks whatever came of the others. */
export function unreadStatus(unread: readonly string[], host: Pick<Host, "err">): number {
  host.err(unread.map((why) => `derate: ${why}\n`).join(""));
  return status.usage;
}
