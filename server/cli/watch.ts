/** Checks again whenever a netlist or a configuration changes, until interrupted. */
import { type FSWatcher, watch as watchFolder } from "node:fs";
import { dirname, resolve } from "node:path";
import type { Run } from "./commands/check.ts";
import type { Host } from "./host.ts";
import { isUsageError, status } from "./status.ts";

/** An editor writes a file in several steps; they count as one change. */
const settleMilliseconds = 80;

/** @returns status 0 when interrupted; what was found is on the screen */
export async function watch(once: () => Promise<Run>, host: Host, stop?: AbortSignal): Promise<number> {
  const watched = new Map<string, FSWatcher>();
  let wake: () => void = () => {};
  let changed = false;
  const change = () => {
    changed = true;
    wake();
  };
  const follow = (folders: ReadonlySet<string>) => {
    for (const [folder, watcher] of watched) {
      if (folders.has(folder)) continue;
      watcher.close();
      watched.delete(folder);
    }
    for (const folder of folders) {
      if (watched.has(folder)) continue;
      const watcher = watchFolder(folder, (_, name) => {
        if (name === null || /\.(ampnet|json)$|\.derateignore$/.test(name)) change();
      });
      // A folder that went away is told by the next check.
      watcher.on("error", change);
      watched.set(folder, watcher);
    }
  };
  let stopped = stop?.aborted ?? false;
  const end = () => {
    stopped = true;
    wake();
  };
  stop?.addEventListener("abort", end);
  process.once("SIGINT", end);
  try {
    let folders = new Set([resolve(host.cwd)]);
    while (!stopped) {
      changed = false;
      if (host.terminal) host.out("\u001b[2J\u001b[3J\u001b[H");
      try {
        const { collected } = await once();
        folders = new Set([
          ...collected.files.flatMap((file) => (file ? [dirname(file.absolute)] : [])),
          ...collected.configurations.map((path) => dirname(path)),
        ]);
      } catch (error) {
        // A file that can't be read just now may be in a moment.
        if (!isUsageError(error)) throw error;
        for (const line of error.message.split("\n")) host.err(`derate: ${line}\n`);
      }
      follow(folders);
      host.err("derate: watching; ctrl-c ends it\n");
      while (!changed && !stopped)
        await new Promise<void>((done) => {
          wake = done;
        });
      if (!stopped) await new Promise((done) => setTimeout(done, settleMilliseconds));
    }
    return status.clean;
  } finally {
    process.removeListener("SIGINT", end);
    stop?.removeEventListener("abort", end);
    for (const watcher of watched.values()) watcher.close();
  }
}
