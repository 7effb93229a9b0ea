/** `derate check PATH…` */
import { type FormatName, formats } from "../../reports/formats/index.ts";
import type { FileReport } from "../../reports/report.ts";
import { standsAt, summarise } from "../../reports/summary.ts";
import { rules } from "../../rules/index.ts";
import type { Severity } from "../../rules/rule.ts";
import { type BaselineOption, withBaseline } from "../baseline.ts";
import { type CheckingOptions, checkAll } from "../checking.ts";
import { cacheOf, type SpeedOptions, whole } from "../checking-options.ts";
import { type Collected, type CollectOptions, collect } from "../collect.ts";
import type { Host } from "../host.ts";
import { outputOf, writeOutputs } from "../outputs.ts";
import { type ColourOption, page } from "../page.ts";
import { status, UsageError } from "../status.ts";
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
  if (!options.watch) return (await once(paths, options, host)).code;
  if (fixes(options) || paths.includes("-"))
    throw new UsageError("--watch goes with neither --fix nor standard input");
  const { watch } = await import("../watch.ts");
  return watch(() => once(paths, options, host), host);
}

export interface Run {
  readonly code: number;
  readonly collected: Collected;
}

async function once(paths: readonly string[], options: CheckCommandOptions, host: Host): Promise<Run> {
  const failOn = options.failOn ?? "error";
  const most = whole("--max-warnings", options.maxWarnings, 0);
  const outputs = (options.output ?? []).map(outputOf);
  const margins = [options.format, ...outputs.map(({ format }) => format)].includes("csv");
  const checking: CheckingOptions = {
    cache: cacheOf(options, host),
    threads: whole("--threads", options.threads, 1),
    progress: progressLine(host),
  };
  const collected = await collect(paths, options, host, margins ? { margins } : {});
  const { jobs, files } = collected;

  let found: readonly FileReport[];
  if (fixes(options)) {
    const { fixAll } = await import("../fix.ts");
    const fixed = fixAll(
      jobs,
      files,
      { dryRun: options.fixDryRun === true, design: options.fixDesign === true },
      host,
    );
    if (options.fixDryRun) {
      host.out(fixed.diff);
      host.err(fixed.told);
      return { code: standsAt(fixed.reports, failOn) ? status.findings : status.clean, collected };
    }
    host.err(fixed.told);
    found = fixed.reports;
  } else {
    found = await checkAll(jobs, host, checking);
  }
  const reports = withBaseline(found, options, host);

  const text = { ...page(options, host), quiet: options.quiet, summary: options.summary };
  const context = { rules, version, failOn, text };
  const shown = formats[options.format](reports, context);
  writeOutputs(outputs, reports, context, host);
  host.out(shown);
  const { warning } = summarise(reports);
  if (most !== undefined && warning > most) {
    host.err(`derate: ${warning} warnings, more than the ${most} that --max-warnings allows\n`);
    return { code: status.findings, collected };
  }
  return { code: standsAt(reports, failOn) ? status.findings : status.clean, collected };
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
