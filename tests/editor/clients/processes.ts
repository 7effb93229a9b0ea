/** Programs that the tests start, and end by their own process group. */
import { type ChildProcess, type SpawnOptions, spawn } from "node:child_process";
import { createServer } from "node:net";

const TAIL = 4000;

export interface Running {
  readonly child: ChildProcess;
  /** What it has written so far. */
  readonly output: () => string;
  end(): Promise<void>;
}

/** Starts a program in a process group of its own, so that what it starts ends with it. */
export function start(program: string, words: readonly string[], options: SpawnOptions = {}): Running {
  const child = spawn(program, words, { ...options, detached: true, stdio: ["ignore", "pipe", "pipe"] });
  let output = "";
  const keep = (chunk: Buffer) => {
    output += chunk.toString();
  };
  child.stdout?.on("data", keep);
  child.stderr?.on("data", keep);
  const ended = new Promise<void>((resolve) => {
    child.once("close", () => resolve());
    child.once("error", () => resolve());
  });
  const signal = (name: NodeJS.Signals) => {
    try {
      if (child.pid !== undefined) process.kill(-child.pid, name);
    } catch {
      // It has gone already.
    }
  };
  return {
    child,
    output: () => output,
    async end() {
      signal("SIGTERM");
      const patience = setTimeout(() => signal("SIGKILL"), 5_000);
      await ended;
      clearTimeout(patience);
      signal("SIGKILL");
    },
  };
}

/**
 * Runs a program to its end.
 * @param seconds after which it is ended and counts as failed
 * @throws Error with the command and the end of its output, when it fails or takes too long
 */
export async function run(
  program: string,
  words: readonly string[],
  seconds: number,
  options: SpawnOptions = {},
): Promise<string> {
  const running = start(program, words, options);
  const told = [program, ...words].join(" ");
  let late = false;
  const patience = setTimeout(() => {
    late = true;
    void running.end();
  }, seconds * 1000);
  const status = await new Promise<number | string>((resolve) => {
    running.child.once("error", (error) => resolve(error.message));
    running.child.once("close", (code, signal) => resolve(code ?? signal ?? "unknown"));
  });
  clearTimeout(patience);
  if (status !== 0)
    throw new Error(
      `${late ? `Not done after ${seconds} s` : `Ended with ${status}`}: ${told}\n${running.output().slice(-TAIL)}`,
    );
  return running.output();
}

/** Waits until the condition gives something. @throws Error saying what was waited for */
export async function until<T>(
  what: string,
  seconds: number,
  condition: () => T | undefined | false | Promise<T | undefined | false>,
): Promise<T> {
  const end = Date.now() + seconds * 1000;
  for (;;) {
    const found = await condition();
    if (found !== undefined && found !== false) return found;
    if (Date.now() > end) throw new Error(`${what}: not within ${seconds} s`);
    await new Promise((resolve) => setTimeout(resolve, 50));
  }
}

export function freePort(): Promise<number> {
  return new Promise((resolve, reject) => {
    const server = createServer();
    server.once("error", reject);
    server.listen(0, "127.0.0.1", () => {
      const address = server.address();
      server.close(() =>
        typeof address === "object" && address ? resolve(address.port) : reject(new Error("no port")),
      );
    });
  });
}
