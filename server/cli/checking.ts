/**
 * Checks many files: from the cache where nothing changed, on all cores where there is enough work, else right here. Results
 * are handed on one after another, in the order of the files, and none is held longer than until its turn.
 */
import { availableParallelism } from "node:os";
import { tallyOf } from "../reports/summary.ts";
import type { ResultCache } from "./cache.ts";
import { expectLongRun } from "./engine.ts";
import type { Host } from "./host.ts";
import { type Checked, type Job, type JobSource, jobOf } from "./job.ts";
import { loadCore } from "./load-core.ts";
import { Turns } from "./turns.ts";
import { type Found, readOr, unreadFound } from "./unread.ts";
import { batchSize, canStartWorkers, checkInWorkers } from "./workers.ts";

export interface CheckingOptions {
  readonly cache?: ResultCache;
  /** How many threads; 1 works in this one alone. Left out: as many as the work is worth. */
  readonly threads?: number;
  /** Told after each file how many are done. */
  readonly progress?: (done: number, of: number) => void;
  /** Told of the files that each includes, by the key that they were asked for. */
  readonly included?: (files: readonly string[]) => void;
}

/** From so many characters on a run is a long one: some ten amplifiers, or one that is no amplifier. */
const longRun = 50_000;

/** Fewer files than this are done sooner than a thread has started. */
const fewest = 24;

/** @param take is given each result in the order of the files, the same whatever the threads and the cache */
export async function checkAll(
  sources: readonly JobSource[],
  host: Pick<Host, "cwd">,
  { cache, threads, progress, included: told }: CheckingOptions,
  take: (found: Found, index: number) => void,
): Promise<void> {
  const left = cache ? sources.filter((source) => !cache.has(source)).length : sources.length;
  const count = Math.min(
    threads ?? Math.min(availableParallelism(), Math.floor(left / (fewest / 2))),
    Math.max(1, left),
  );
  const turns = new Turns<Found>(sources.length, Math.max(64, 2 * batchSize * count), take);
  let done = 0;
  const put = (index: number, found: Found) => {
    turns.put(index, found);
    progress?.(++done, sources.length);
  };
  /** The next file that the cache doesn't have; what it has takes its turn on the way. */
  const next = () => {
    for (let index = turns.next(); index !== undefined; index = turns.next()) {
      const found = cache?.find(sources[index]);
      if (found) {
        told?.(found.included);
        put(index, found);
        continue;
      }
      const job = readOr(() => jobOf(sources[index]));
      if ("value" in job) return { index, job: job.value };
      put(index, unreadFound(sources[index], job.why));
    }
    return undefined;
  };
  const finish = (index: number, job: Job, { report, included }: Checked) => {
    const tally = tallyOf(report);
    cache?.keep(job, report, tally, included);
    told?.(included);
    put(index, { tally, report: () => report });
  };
  if (count > 1 && canStartWorkers()) {
    await checkInWorkers({ next, over: () => turns.allOut, finish }, host.cwd, count);
    return;
  }
  let work = 0;
  let one: ((job: Job) => Checked) | undefined;
  for (let given = next(); given; given = next()) {
    one ??= (await loadCore()).checker(host);
    work += given.job.text.length;
    if (work > longRun) expectLongRun();
    finish(given.index, given.job, one(given.job));
  }
}
