/** Threads that check: each takes a few files at a time until none are left. */
import { join } from "node:path";
import { Worker } from "node:worker_threads";
import { expectLongRun, expectNoHelp, threadLimits } from "./engine.ts";
import type { Checked, Job } from "./job.ts";

declare const DERATE_BUNDLED: boolean | undefined;

export interface Given {
  readonly index: number;
  readonly job: Job;
}
type Batch = readonly Given[];
/** What a thread is given at once, and what it answers. */
export type Question = readonly Job[];
export type Answer = readonly Checked[];

/** Where the threads' work comes from, and where its results go. */
export interface Work {
  /** Undefined where there is none now. */
  next(): Given | undefined;
  /** Whether there will be none any more. */
  over(): boolean;
  finish(index: number, job: Job, checked: Checked): void;
}

/** Files that a thread takes at once: few enough that all end together, enough that messages cost nothing. */
export const batchSize = 8;

/** From sources there is no bundle that a thread could run. */
export function canStartWorkers(): boolean {
  return typeof DERATE_BUNDLED !== "undefined";
}

export async function checkInWorkers(
  work: Work,
  cwd: string,
  count: number,
  file = join(__dirname, "worker.js"),
): Promise<void> {
  const workers = Array.from(
    { length: count },
    () => new Worker(file, { workerData: { cwd }, resourceLimits: threadLimits }),
  );
  try {
    await new Promise<void>((done, failed) => {
      // Those that have nothing to do now: more may come when another has answered.
      const idle = new Set(workers);
      const given = new Map<Worker, Batch>();
      const started = new Set<Worker>();
      const feed = () => {
        for (const worker of idle) {
          const batch = take(work);
          if (batch.length === 0) break;
          idle.delete(worker);
          given.set(worker, batch);
          worker.postMessage(batch.map(({ job }) => job));
        }
        if (idle.size === workers.length && work.over()) done();
      };
      /** A fault in here would else end the process: events have no one to tell. */
      const guarded = (run: () => void) => {
        try {
          run();
        } catch (error) {
          failed(error);
        }
      };
      for (const worker of workers) {
        worker.on("error", failed);
        worker.on("exit", (code) => failed(new Error(`a checking thread ended early with ${code}`)));
        worker.on("message", (answer: Answer) =>
          guarded(() => {
            for (const [nth, { index, job }] of (given.get(worker) ?? []).entries())
              work.finish(index, job, answer[nth]);
            idle.add(worker);
            started.add(worker);
            if (started.size === workers.length) {
              expectLongRun();
              expectNoHelp();
            }
            feed();
          }),
        );
      }
      guarded(feed);
    });
  } finally {
    await Promise.all(workers.map((worker) => worker.terminate()));
  }
}

function take(work: Work): Given[] {
  const batch: Given[] = [];
  while (batch.length < batchSize) {
    const given = work.next();
    if (!given) break;
    batch.push(given);
  }
  return batch;
}
