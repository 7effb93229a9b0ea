/** Checks again whenever something that the last check rests on changes, until interrupted. */
import { existsSync, type FSWatcher, statSync, watch as watchFolder } from "node:fs";
import { basename, dirname, join } from "node:path";
import { ignoreFile } from "../config/names.ts";
import type { Look } from "./files.ts";
import type { Host } from "./host.ts";
import { isUsageError, status } from "./status.ts";

/** An editor writes a file in several steps; they count as one change. */
const settleMilliseconds = 80;

/**
 * @param once checks, and tells of every file and folder that its result rests on; where it fails, of those that it came to
 * @param written what each check writes, absolute: no reason to check again
 * @returns status 0 when interrupted; what was found is on the screen
 */
export async function watch(
  once: (look: Look) => Promise<unknown>,
  host: Host,
  written: readonly string[] = [],
): Promise<number> {
  const { stop } = host;
  let stopped = stop?.aborted ?? false;
  let changed = false;
  let wake: () => void = () => {};
  const folders = new Folders(new Set(written), () => {
    changed = true;
    wake();
  });
  const end = () => {
    stopped = true;
    wake();
  };
  stop?.addEventListener("abort", end);
  process.once("SIGINT", end);
  try {
    while (!stopped) {
      changed = false;
      if (host.terminal) host.out("\u001b[2J\u001b[3J\u001b[H");
      folders.begin();
      folders.see(host.cwd);
      try {
        await once((path) => folders.see(path));
      } catch (error) {
        // A file that can't be read just now may be in a moment.
        if (!isUsageError(error)) throw error;
        for (const line of error.message.split("\n")) host.err(`derate: ${line}\n`);
      }
      folders.letGo();
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
    folders.close();
  }
}

/** The folders that are watched: a watched file is lost when an editor puts another in its place. */
class Folders {
  private readonly watched = new Map<string, FSWatcher>();
  /** Files and folders, absolute. */
  private readonly seen = new Set<string>();
  private readonly wanted = new Set<string>();
  /** Folders that were not there, on the way to what was asked for. */
  private readonly missing = new Set<string>();

  constructor(
    private readonly written: ReadonlySet<string>,
    private readonly change: () => void,
  ) {}

  /** Before a check. What is watched stays so meanwhile. */
  begin(): void {
    for (const set of [this.seen, this.wanted, this.missing]) set.clear();
  }

  /** From now on, before the check reads it: what changes between the two is not lost. */
  see(path: string): void {
    if (this.seen.has(path)) return;
    this.seen.add(path);
    let above = dirname(path);
    for (; !existsSync(above) && above !== dirname(above); above = dirname(above)) this.missing.add(above);
    // The folder above tells when a path comes and goes.
    for (const folder of isFolder(path) ? [path, above] : [above]) {
      this.wanted.add(folder);
      if (!this.watched.has(folder)) this.start(folder);
    }
  }

  /** After a check: what it has not seen. */
  letGo(): void {
    for (const folder of this.watched.keys()) if (!this.wanted.has(folder)) this.end(folder);
  }

  close(): void {
    for (const folder of this.watched.keys()) this.end(folder);
  }

  private start(folder: string): void {
    try {
      const gone = () => {
        this.end(folder);
        this.change();
      };
      const watcher = watchFolder(folder, (event, name) => {
        // So a folder tells its own end. Another may have taken its name by now.
        if (event === "rename" && name === basename(folder)) gone();
        else if (name === null || this.counts(folder, name)) this.change();
      });
      watcher.on("error", gone);
      this.watched.set(folder, watcher);
    } catch {
      // It went away between being looked at and now: the folder above, which is watched, tells when it comes back.
    }
  }

  private end(folder: string): void {
    this.watched.get(folder)?.close();
    this.watched.delete(folder);
  }

  /** What the last check has seen or asked for, and in the folders that it searched what it would have found by its name. */
  private counts(folder: string, name: string): boolean {
    const path = join(folder, name);
    if (this.written.has(path)) return false;
    if (this.seen.has(path) || this.missing.has(path)) return true;
    if (!this.seen.has(folder)) return false;
    return (
      name === ignoreFile || (!name.startsWith(".") && (/\.(ampnet|json)$/.test(name) || isFolder(path)))
    );
  }
}

function isFolder(path: string): boolean {
  try {
    return statSync(path).isDirectory();
  } catch {
    return false;
  }
}
