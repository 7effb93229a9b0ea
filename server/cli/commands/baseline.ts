/** `derate baseline write PATH…` */
import { resolve } from "node:path";
import { BaselineMaker, mayBeKnown } from "../../reports/baseline.ts";
import { stands } from "../../reports/summary.ts";
import { count } from "../../reports/units.ts";
import { checkAll } from "../checking.ts";
import { cacheOf, type SpeedOptions, whole } from "../checking-options.ts";
import { type CollectOptions, collect, onDisk } from "../collect.ts";
import type { Host } from "../host.ts";
import { holdApart } from "../outputs.ts";
import { status, UsageError } from "../status.ts";
import { writeWhole } from "../write.ts";

export interface BaselineCommandOptions extends CollectOptions, SpeedOptions {
  readonly baseline: string;
}

export async function baselineWrite(
  paths: readonly string[],
  options: BaselineCommandOptions,
  host: Host,
): Promise<number> {
  const cache = cacheOf(options, host);
  const collected = await collect(paths, options, host, {}, cache);
  const { jobs } = collected;
  holdApart([{ path: options.baseline }], [...onDisk(collected), ...collected.configurations], host);
  const maker = new BaselineMaker();
  let standing = 0;
  let put = 0;
  const unread: string[] = [];
  await checkAll(jobs, host, { cache, threads: whole("--threads", options.threads, 1) }, (found) => {
    if (found.unread !== undefined) unread.push(found.unread);
    const report = found.report();
    maker.add(report);
    for (const finding of report.findings) {
      if (!stands(finding) || finding.severity === "unchecked") continue;
      standing++;
      if (mayBeKnown(finding)) put++;
    }
  });
  // What nobody could read is not known: a baseline without it would let it fail later, one with it would hide it.
  if (unread.length > 0) throw new UsageError(unread.join("\n"));
  writeWhole(
    options.baseline,
    resolve(host.cwd, options.baseline),
    `${JSON.stringify(maker.baseline(), undefined, 2)}\n`,
  );
  host.out(`${options.baseline}: ${count(put, "finding")} of ${count(jobs.length, "file")} put by.\n`);
  if (put < standing)
    host.out(
      `${count(standing - put, "error")} of mains and earth not put by: what can kill stays in sight. ` +
        "Put it right, or waive it in the netlist, with a reason.\n",
    );
  return status.clean;
}
