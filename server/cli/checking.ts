/** Checks many files: from the cache where nothing changed, on all cores where there is enough work, else right here. */
import { availableParallelism } from "node:os";
import type { FileReport } from "../reports/report.ts";
import type { ResultCache } from "./cache.ts";
import type { Host } from "./host.ts";
import { type Checked, checker, type Job } from "./job.ts";
import { canStartWorkers, checkInWorkers } from "./workers.ts";

export interface CheckingOptions {
  readonly cache?: ResultCache;
  /** How many threads; 1 works in this one alone. Left out: as many as the work is worth. */
  readonly threads?: number;
  /** Told after each file how many are done. */
  readonly progress?: (done: number, of: number) => void;
}

/** Fewer files than this are done sooner than a thread has started. */
const fewest = 24;

/** @returns the reports in the order of the jobs, the same whatever the threads and the cache */
export async function checkAll(
  jobs: readonly Job[],
  host: Pick<Host, "cwd">,
  { cache, threads, progress }: CheckingOptions = {},
): Promise<FileReport[]> {
  const reports: (FileReport | undefined)[] = jobs.map((job) => cache?.find(job));
  const left = jobs.map((_, index) => index).filter((index) => reports[index] === undefined);
  let done = jobs.length - left.length;
  const finish = (index: number, { report, included }: Checked) => {
    reports[index] = report;
    cache?.keep(jobs[index], report, included);
    progress?.(++done, jobs.length);
  };
  const count = threads ?? Math.min(availableParallelism(), Math.floor(left.length / (fewest / 2)));
  if (count > 1 && left.length > 1 && canStartWorkers()) {
    await checkInWorkers(
      left.map((index) => jobs[index]),
      host.cwd,
      Math.min(count, left.length),
      (nth, checked) => finish(left[nth], checked),
    );
  } else {
    const one = checker(host);
    for (const index of left) finish(index, one(jobs[index]));
  }
  return reports as FileReport[];
}
