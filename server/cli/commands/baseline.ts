/** `derate baseline write PATH…` */
import { resolve } from "node:path";
import { baselineOf, mayBeKnown } from "../../reports/baseline.ts";
import { stands } from "../../reports/summary.ts";
import { count } from "../../reports/units.ts";
import { checkAll } from "../checking.ts";
import { cacheOf, type SpeedOptions, whole } from "../checking-options.ts";
import { type CollectOptions, collect } from "../collect.ts";
import type { Host } from "../host.ts";
import { status } from "../status.ts";
import { writeWhole } from "../write.ts";

export interface BaselineCommandOptions extends CollectOptions, SpeedOptions {
  readonly baseline: string;
}

export async function baselineWrite(
  paths: readonly string[],
  options: BaselineCommandOptions,
  host: Host,
): Promise<number> {
  const { jobs } = await collect(paths, options, host, {});
  const reports = await checkAll(jobs, host, {
    cache: cacheOf(options, host),
    threads: whole("--threads", options.threads, 1),
  });
  const baseline = baselineOf(reports);
  writeWhole(
    options.baseline,
    resolve(host.cwd, options.baseline),
    `${JSON.stringify(baseline, undefined, 2)}\n`,
  );
  const standing = reports.flatMap(({ findings }) =>
    findings.filter((f) => stands(f) && f.severity !== "unchecked"),
  );
  const put = standing.filter(mayBeKnown).length;
  host.out(`${options.baseline}: ${count(put, "finding")} of ${count(reports.length, "file")} put by.\n`);
  if (put < standing.length)
    host.out(
      `${count(standing.length - put, "error")} of mains and earth not put by: what can kill stays in sight. ` +
        "Put it right, or waive it in the netlist, with a reason.\n",
    );
  return status.clean;
}
