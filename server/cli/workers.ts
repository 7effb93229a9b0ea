/** Threads that check: each takes a few files at a time until none are left. */
import { join } from "node:path";
import { parentPort, Worker, workerData } from "node:worker_threads";
import { type Checked, checker, type Job } from "./job.ts";

declare const DERATE_BUNDLED: boolean | undefined;

interface Batch {
  readonly first: number;
  readonly jobs: readonly Job[];
}
interface Answer {
  readonly first: number;
  readonly checked: readonly Checked[];
}

/** Files that a thread takes at once: few enough that all end together, enough that messages cost nothing. */
const batchSize = 8;

/** From sources there is no bundle that a thread could run. */
export function canStartWorkers(): boolean {
  return typeof DERATE_BUNDLED !== "undefined";
}

export async function checkInWorkers(
  jobs: readonly Job[],
  cwd: string,
  count: number,
  finish: (index: number, checked: Checked) => void,
  file = join(__dirname, "worker.js"),
): Promise<void> {
  let next = 0;
  const take = (): Batch | undefined => {
    if (next >= jobs.length) return undefined;
    const first = next;
    next = Math.min(jobs.length, next + batchSize);
    return { first, jobs: jobs.slice(first, next) };
  };
  const workers = Array.from({ length: count }, () => new Worker(file, { workerData: { cwd } }));
  try {
    await Promise.all(
      workers.map(
        (worker) =>
          new Promise<void>((done, failed) => {
            worker.on("error", failed);
            worker.on("exit", (code) => failed(new Error(`a checking thread ended early with ${code}`)));
            worker.on("message", ({ first, checked }: Answer) => {
              for (const [nth, one] of checked.entries()) finish(first + nth, one);
              const batch = take();
              if (batch) worker.postMessage(batch);
              else done();
            });
            const batch = take();
            if (batch) worker.postMessage(batch);
            else done();
          }),
      ),
    );
  } finally {
    await Promise.all(workers.map((worker) => worker.terminate()));
  }
}

/** What runs in such a thread. */
export function serve(): void {
  const one = checker({ cwd: (workerData as { cwd: string }).cwd });
  parentPort?.on("message", ({ first, jobs }: Batch) => {
    const answer: Answer = { first, checked: jobs.map(one) };
    parentPort?.postMessage(answer);
  });
}
