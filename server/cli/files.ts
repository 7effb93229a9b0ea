/** Finding and reading netlist files. A path that leads nowhere is told before any work starts. */
import { type Dirent, lstatSync, readdirSync, readFileSync, statSync } from "node:fs";
import { join, resolve, sep } from "node:path";
import { largestText } from "../largest-text.ts";
import { reason } from "../reason.ts";
import type { Host } from "./host.ts";
import { isUsageError, UsageError } from "./status.ts";

export const extension = ".ampnet";

/** Folders that hold other people's files or generated ones. */
const skipped = new Set(["node_modules"]);

export interface NetlistFile {
  /** As given by the user, or below the folder given, with `/` between folders. */
  readonly path: string;
  readonly absolute: string;
}

/** Whether a search leaves a file or folder out, by its absolute path; a folder's ends in `/`. */
export type Ignored = (absolute: string) => boolean;

/** Told of each file and folder that what is found rests on, absolute: one that does not exist as well. */
export type Look = (absolute: string) => void;

export interface Found {
  readonly files: readonly NetlistFile[];
  /** How many netlists the searches left out. */
  readonly ignored: number;
}

/**
 * @param paths files (any extension), folders (searched for `.ampnet`, hidden folders and `node_modules` left out), and
 *   patterns like `amps/**\/*.ampnet`. A file given by its name is never ignored.
 * @param look told of every folder that is searched, and of every file and pattern's folder that is named
 * @returns each file once; those of a folder or pattern sorted by path
 * @throws UsageError naming every path that is missing, can't be read, or leads to no netlist
 */
export async function findNetlists(
  paths: readonly string[],
  host: Pick<Host, "cwd">,
  ignoredFor: (folder: string) => Ignored = () => () => false,
  look?: Look,
): Promise<Found> {
  const found = new Map<string, NetlistFile>();
  const troubles: string[] = [];
  let ignored = 0;
  const add = (path: string) => {
    const absolute = resolve(host.cwd, path);
    if (!found.has(absolute)) found.set(absolute, { path: path.split(sep).join("/"), absolute });
  };
  for (const path of paths) {
    const absolute = resolve(host.cwd, path);
    look?.(absolute);
    try {
      if (!statSync(absolute).isDirectory()) {
        add(path);
        continue;
      }
      const inFolder = netlistsIn(absolute, path, ignoredFor(absolute), look);
      for (const file of inFolder.files) add(file);
      ignored += inFolder.ignored;
      if (inFolder.files.length === 0)
        troubles.push(
          `${path}: no ${extension} file in this folder${inFolder.ignored > 0 ? ` that isn't ignored (${inFolder.ignored} are)` : "; netlists are looked for by that ending"}`,
        );
    } catch (error) {
      // The name of a file goes before a pattern: a file may be called `a[1].ampnet`.
      if (!isPattern(path) || (error as NodeJS.ErrnoException).code !== "ENOENT") {
        troubles.push(`${path}: ${reason(error, "reading")}`);
        continue;
      }
      if (look) foldersIn(resolve(host.cwd, folderOf(path)), look);
      const matching = await matches(path, host.cwd);
      const kept = matching.filter((file) => !ignoredFor(resolve(host.cwd))(resolve(host.cwd, file)));
      for (const file of kept) add(file);
      ignored += matching.length - kept.length;
      if (kept.length === 0)
        troubles.push(
          matching.length === 0
            ? `${path}: no file matches this pattern; mind its spelling, and the folder that derate runs in`
            : `${path}: every file that matches this pattern is ignored`,
        );
    }
  }
  if (troubles.length > 0) throw new UsageError(troubles.join("\n"));
  return { files: [...found.values()], ignored };
}

const pattern = /[*?[{]|[!@+]\(/;
const isPattern = (path: string) => pattern.test(path);

/** What a pattern's matches all lie in. */
function folderOf(path: string): string {
  const steps = path.split(sep).join("/").split("/");
  return steps.slice(0, steps.findIndex(isPattern)).join("/") || (path.startsWith("/") ? "/" : ".");
}

/** A folder and all below it that a search looks into. */
function foldersIn(folder: string, look: Look): void {
  look(folder);
  try {
    for (const entry of searched(folder)) if (entry.isDirectory()) foldersIn(join(folder, entry.name), look);
  } catch {
    // It is gone, or can't be looked into: the search itself tells so.
  }
}

/** What a search looks at. */
function searched(folder: string): Dirent[] {
  return readdirSync(folder, { withFileTypes: true })
    .filter(({ name }) => !name.startsWith(".") && !skipped.has(name))
    .sort((a, b) => (a.name < b.name ? -1 : 1));
}

async function matches(path: string, cwd: string): Promise<string[]> {
  const { glob } = await import("tinyglobby");
  const files = await glob(path.split(sep).join("/"), {
    cwd,
    onlyFiles: true,
    followSymbolicLinks: false,
    ignore: [...skipped].map((folder) => `**/${folder}/**`),
    expandDirectories: false,
  });
  return files.sort();
}

function netlistsIn(
  folder: string,
  shown: string,
  ignoredHere: Ignored,
  look?: Look,
): { files: string[]; ignored: number } {
  const files: string[] = [];
  let ignored = 0;
  look?.(folder);
  for (const entry of searched(folder)) {
    const path = join(shown, entry.name);
    const absolute = join(folder, entry.name);
    // A link to a folder is not followed: it could lead round in a circle.
    if (entry.isDirectory()) {
      const leftOut = ignoredHere(`${absolute}/`);
      let inner: { files: string[]; ignored: number };
      try {
        inner = netlistsIn(absolute, path, leftOut ? () => true : ignoredHere, look);
      } catch {
        // It can't be looked into, or is gone by now: named, so that it is told when its turn comes.
        inner = { files: leftOut ? [] : [path], ignored: 0 };
      }
      for (const file of inner.files) files.push(file);
      ignored += inner.ignored;
    } else if (entry.name.endsWith(extension) && isFile(absolute)) {
      if (ignoredHere(absolute)) ignored++;
      else files.push(path);
    }
  }
  return { files, ignored };
}

function isFile(path: string): boolean {
  try {
    return statSync(path).isFile();
  } catch {
    // A link that leads nowhere, or a file that is gone by now: named, so that it is told when read.
    try {
      return lstatSync(path).isSymbolicLink();
    } catch {
      return true;
    }
  }
}

/** @throws UsageError when the file can't be read or isn't UTF-8 text */
export function readNetlist(file: NetlistFile): string {
  let bytes: Uint8Array;
  try {
    const { size } = statSync(file.absolute);
    if (size > largestText) throw new UsageError(tooLarge(file.path, size));
    bytes = readFileSync(file.absolute);
  } catch (error) {
    if (isUsageError(error)) throw error;
    throw new UsageError(`${file.path}: ${reason(error, "reading")}`);
  }
  return decode(file.path, bytes);
}

const tooLarge = (name: string, bytes: number) =>
  `${name}: ${(bytes / 1048576).toFixed(1)} MB, and none of more than ${largestText / 1048576} MB is checked; an amplifier takes some kilobytes: is this the file that was meant?`;

/** @throws UsageError when the bytes aren't UTF-8 text, or are more than any amplifier takes */
export function decode(name: string, bytes: Uint8Array): string {
  if (bytes.length > largestText) throw new UsageError(tooLarge(name, bytes.length));
  try {
    const text = new TextDecoder("utf-8", { fatal: true }).decode(bytes);
    if (!text.includes("\0")) return text;
  } catch {
    // told below
  }
  throw new UsageError(`${name}: not a text file in UTF-8; save it as UTF-8 and try again`);
}

/** Characters of included texts that are held; a collection's includes are seldom a hundredth of it. */
const mostIncluded = 16 * 1024 * 1024;

/** What an `include` reads, each file once, as long as they are few. Undefined for a file that can't be read. */
export function includeReader(host: Pick<Host, "cwd">): (file: string) => string | undefined {
  const texts = new Map<string, string | undefined>();
  let held = 0;
  return (file) => {
    if (!texts.has(file)) {
      let text: string | undefined;
      try {
        text = decode(file, readFileSync(resolve(host.cwd, file)));
      } catch {
        text = undefined;
      }
      held += text?.length ?? 0;
      if (held > mostIncluded) {
        texts.clear();
        held = text?.length ?? 0;
      }
      texts.set(file, text);
    }
    return texts.get(file);
  };
}
