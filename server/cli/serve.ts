/** What runs in a checking thread. */
import { parentPort, workerData } from "node:worker_threads";
import { checker } from "./checker.ts";
import type { Answer, Question } from "./workers.ts";

export function serve(): void {
  const one = checker({ cwd: (workerData as { cwd: string }).cwd });
  parentPort?.on("message", (jobs: Question) => {
    const answer: Answer = jobs.map(one);
    parentPort?.postMessage(answer);
  });
}
