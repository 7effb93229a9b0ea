/** `derate check PATH…` */
import { resolve } from "node:path";
import { type Gone, holdAgainst } from "../../reports/baseline.ts";
import type { FormatName } from "../../reports/formats/index.ts";
import { addTallies, noTally, standsAt, tallyOf } from "../../reports/summary.ts";
import { summaryText } from "../../reports/text.ts";
import type { Severity } from "../../rules/rule.ts";
import { type BaselineOption, goneText, readBaseline } from "../baseline.ts";
import { type CheckingOptions, checkAll } from "../checking.ts";
import { cacheOf, type SpeedOptions, whole } from "../checking-options.ts";
import { type Collected, type CollectOptions, collect, onDisk } from "../collect.ts";
import type { Host } from "../host.ts";
import { loadCore } from "../load-core.ts";
import { holdApart, Outputs, outputOf } from "../outputs.ts";
import { type ColourOption, page } from "../page.ts";
import { status, UsageError } from "../status.ts";
import { type Found, unreadStatus } from "../unread.ts";
import { version } from "../version.ts";

export interface CheckCommandOptions extends ColourOption, CollectOptions, SpeedOptions, BaselineOption {
  readonly format: FormatName;
  readonly output?: readonly string[];
  readonly quiet?: boolean;
  readonly summary?: boolean;
  readonly failOn?: Severity;
  readonly maxWarnings?: string;
  readonly fix?: boolean;
  readonly fixDesign?: boolean;
  readonly fixDryRun?: boolean;
  readonly watch?: boolean;
}

export async function check(
  paths: readonly string[],
  options: CheckCommandOptions,
  host: Host,
): Promise<number> {
  if (!options.watch) return once(paths, options, host);
  if (fixes(options) || paths.includes("-"))
    throw new UsageError("--watch goes with neither --fix nor standard input");
  const { watch } = await import("../watch.ts");
  const written = (options.output ?? []).map((given) => resolve(host.cwd, outputOf(given).path));
  return watch((look) => once(paths, { ...options, look }, host), host, written);
}

/** @returns the exit status */
async function once(paths: readonly string[], options: CheckCommandOptions, host: Host): Promise<number> {
  const { look } = options;
  const failOn = options.failOn ?? "error";
  const most = whole("--max-warnings", options.maxWarnings, 0);
  const files = (options.output ?? []).map(outputOf);
  if (options.fixDryRun && files.length > 0)
    throw new UsageError("--fix-dry-run shows a diff and writes no --output; leave one of them out");
  const named: readonly FormatName[] = [options.format, ...files.map(({ format }) => format)];
  const checking: CheckingOptions = {
    cache: cacheOf(options, host),
    threads: whole("--threads", options.threads, 1),
    progress: progressLine(host),
    included:
      look &&
      ((files) => {
        for (const file of files) look(resolve(host.cwd, file));
      }),
  };
  if (look && options.baseline !== undefined) look(resolve(host.cwd, options.baseline));
  const want = named.includes("csv") ? { margins: true } : {};
  const collected = await collect(paths, options, host, want, checking.cache);
  const { jobs } = collected;
  holdApart(files, readBy(collected, options.baseline, host), host);
  const unread: string[] = [];
  if (options.fixDryRun) return dryRun(collected, options, failOn, host, unread);

  const text = { ...page(options, host), quiet: options.quiet, summary: options.summary };
  // Only SARIF tells the rules themselves, which are the core's.
  const rules = named.includes("sarif") ? (await loadCore()).rules : [];
  const outputs = new Outputs(
    options.format,
    files,
    { rules, version, failOn, text },
    jobs.map(({ path }) => path),
    host,
  );
  try {
    const known = options.baseline === undefined ? undefined : readBaseline(options.baseline, host);
    const gone: Gone[] = [];
    let tally = noTally;
    /** Where nothing is told but what it comes to, no report is looked at. */
    const countsAlone = options.summary && options.format === "text" && files.length === 0 && !known;
    const take = (found: Found) => {
      if (found.unread !== undefined) unread.push(found.unread);
      if (countsAlone) {
        tally = addTallies(tally, found.tally);
        return;
      }
      let report = found.report();
      // What could not be read has lost none of its known findings.
      if (known && found.unread === undefined) {
        const held = holdAgainst(report, known);
        report = held.report;
        gone.push(...held.gone);
      }
      tally = addTallies(tally, known ? tallyOf(report) : found.tally);
      outputs.add(report);
    };
    if (fixes(options)) await fixed(collected, options, host, take);
    else await checkAll(jobs, host, checking, take);
    if (known && gone.length > 0) host.err(goneText(gone, options.baseline as string));
    if (countsAlone) host.out(summaryText(tally, text));
    else outputs.write();
    if (unread.length > 0) return unreadStatus(unread, host);
    if (most !== undefined && tally.warning > most) {
      host.err(`derate: ${tally.warning} warnings, more than the ${most} that --max-warnings allows\n`);
      return status.findings;
    }
    return standsAt(tally, failOn) ? status.findings : status.clean;
  } finally {
    outputs.close();
  }
}

/** What an output would take away if it were written there. */
function readBy(collected: Collected, baseline: string | undefined, host: Host): string[] {
  const held = baseline === undefined ? [] : [resolve(host.cwd, baseline)];
  return [...onDisk(collected), ...collected.configurations, ...held];
}

/** Makes the changes, tells what was done, and hands on the reports of the files as they are then. */
async function fixed(
  { jobs, files }: Collected,
  { fixDesign }: CheckCommandOptions,
  host: Host,
  take: (found: Found) => void,
): Promise<void> {
  const { fixAll } = await (await loadCore()).loadFix();
  const { told } = fixAll(jobs, files, { dryRun: false, design: fixDesign === true }, host, take);
  host.err(told);
}

async function dryRun(
  { jobs, files }: Collected,
  { fixDesign }: CheckCommandOptions,
  failOn: Severity,
  host: Host,
  unread: string[],
): Promise<number> {
  const { fixAll } = await (await loadCore()).loadFix();
  let tally = noTally;
  const { diff, told } = fixAll(jobs, files, { dryRun: true, design: fixDesign === true }, host, (found) => {
    if (found.unread !== undefined) unread.push(found.unread);
    tally = addTallies(tally, found.tally);
  });
  host.out(diff);
  host.err(told);
  if (unread.length > 0) return unreadStatus(unread, host);
  return standsAt(tally, failOn) ? status.findings : status.clean;
}

function fixes({ fix, fixDesign, fixDryRun }: CheckCommandOptions): boolean {
  return fix === true || fixDesign === true || fixDryRun === true;
}

/** One line on a terminal that says how far a long run is. */
function progressLine(host: Host): CheckingOptions["progress"] {
  if (!host.progress) return undefined;
  let last = 0;
  return (done, of) => {
    if (of < 50) return;
    const now = Math.floor((done / of) * 100);
    if (now === last && done < of) return;
    last = now;
    host.progress?.(done < of ? `checked ${done} of ${of}` : "");
  };
}
