/**
 * Makes the changes that findings offer, one after another, each tried on the whole file before it is made. Two kinds are
 * kept apart: what is only written wrong, and what changes the amplifier. The second is made only when it is asked for by
 * its own name, since a file that is ahead of its chassis hides what is wrong with it.
 */

import { resolve } from "node:path";
import { createTwoFilesPatch } from "diff";
import { applyEdits, type CheckResult, check } from "../check.ts";
import { reportOf } from "../reports/report.ts";
import { tallyOf } from "../reports/summary.ts";
import { count } from "../reports/units.ts";
import type { Fix } from "../rules/rule.ts";
import { isWriting } from "../rules/writing.ts";
import { includeReader, type NetlistFile } from "./files.ts";
import type { Host } from "./host.ts";
import { type Job, type JobSource, jobOf } from "./job.ts";
import { UsageError } from "./status.ts";
import { type Found, readOr, unreadFound } from "./unread.ts";
import { writeWhole } from "./write.ts";

export interface Fixed {
  /** What would change, as a unified diff. */
  readonly diff: string;
  /** What was done, a line for each file. */
  readonly told: string;
}

/** A file that needs more changes than this is going round in a circle. */
const most = 200;

/** @param take is given each file's report in order: as the file stands afterwards, on a dry run as it stands now */
export function fixAll(
  jobs: readonly JobSource[],
  files: readonly (NetlistFile | undefined)[],
  { dryRun, design }: { readonly dryRun: boolean; readonly design: boolean },
  host: Host,
  take: (found: Found) => void,
): Fixed {
  if (!dryRun && files.includes(undefined))
    throw new UsageError("--fix can't change standard input; --fix-dry-run shows what it would do");
  const disk = includeReader(host);
  const edited = new Map<string, string>();
  const before = new Map<string, string>();
  const told: string[] = [];
  const changes: string[] = [];
  const now = (job: Job) => checkOnce(job, (file) => (file === job.path ? job.text : disk(file)));
  for (const source of jobs) {
    const read = readOr(() => jobOf(source));
    if ("why" in read) {
      take(unreadFound(source, read.why));
      continue;
    }
    const job = read.value;
    const mains = new Map([[job.path, job.text]]);
    const textOf = (file: string) => edited.get(file) ?? mains.get(file) ?? disk(file);
    let result = checkOnce(job, textOf);
    let made = 0;
    for (; made < most; made++) {
      const found = firstFix(result, design);
      const texts = found && applyEdits(result.sources, found.fix.edits);
      if (!texts) break;
      if (!isWriting(found.rule)) changes.push(`  ${job.path}: ${found.fix.title}`);
      for (const [file, text] of texts) {
        if (!before.has(file)) before.set(file, result.sources.get(file)?.text ?? "");
        edited.set(file, text);
      }
      result = checkOnce(job, textOf);
    }
    if (made > 0) told.push(`${job.path}: ${count(made, "change")} ${dryRun ? "to make" : "made"}`);
    const report = reportOf(dryRun ? now(job) : result, job.want);
    take({ tally: tallyOf(report), report: () => report });
  }
  if (changes.length > 0)
    told.push(
      `these change the amplifier; until the chassis has been changed likewise, the file hides what is wrong with it:\n${changes.join("\n")}`,
    );
  const changed = [...edited].filter(([file, text]) => before.get(file) !== text);
  if (!dryRun) for (const [file, text] of changed) writeWhole(file, resolve(host.cwd, file), text);
  return {
    diff: changed
      .map(([file, text]) =>
        createTwoFilesPatch(`a/${file}`, `b/${file}`, before.get(file) ?? "", text, "", ""),
      )
      .join(""),
    told: told.map((line) => `derate: ${line}\n`).join(""),
  };
}

function checkOnce(job: Job, textOf: (file: string) => string | undefined): CheckResult {
  return check(job.path, textOf(job.path) ?? job.text, { ...job.options, readInclude: textOf });
}

/** Of the first finding that stands and has one that holds. Asking a finding for its fix tries it. */
function firstFix(
  { findings }: CheckResult,
  design: boolean,
): { readonly rule: string; readonly fix: Fix } | undefined {
  for (const finding of findings) {
    if (finding.waived || !(design || isWriting(finding.rule))) continue;
    // What follows from another is put right there: a larger resistor for the current of a missing bias hides it.
    if (finding.follows !== undefined && !isWriting(finding.rule)) continue;
    const { rule, fix } = finding;
    if (fix) return { rule, fix };
  }
  return undefined;
}
