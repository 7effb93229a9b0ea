/** Finding and reading netlist files. Everything that can't be read is told at once, before any work starts. */
import {
  lstatSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  realpathSync,
  renameSync,
  rmSync,
  statSync,
  writeFileSync,
} from "node:fs";
import { basename, dirname, isAbsolute, join, relative, resolve, sep } from "node:path";
import type { Host } from "./host.ts";
import { UsageError } from "./status.ts";

export const extension = ".ampnet";

/** Folders that hold other people's files or generated ones. */
const skipped = new Set(["node_modules"]);

export interface NetlistFile {
  /** As given by the user, or below the folder given, with `/` between folders. */
  readonly path: string;
  readonly absolute: string;
}

/**
 * @param paths files (any extension) and folders (searched for `.ampnet`, hidden folders and `node_modules` left out)
 * @returns each file once, those of a folder sorted by path
 * @throws UsageError naming every path that is missing, can't be read, or holds no netlist
 */
export function findNetlists(paths: readonly string[], host: Pick<Host, "cwd">): NetlistFile[] {
  const found = new Map<string, NetlistFile>();
  const troubles: string[] = [];
  const add = (path: string) => {
    const absolute = resolve(host.cwd, path);
    if (!found.has(absolute)) found.set(absolute, { path: path.split(sep).join("/"), absolute });
  };
  for (const path of paths) {
    try {
      if (!statSync(resolve(host.cwd, path)).isDirectory()) {
        add(path);
        continue;
      }
      const before = found.size;
      const inFolder = netlistsIn(resolve(host.cwd, path), path);
      inFolder.forEach(add);
      if (inFolder.length === 0 && found.size === before)
        troubles.push(`${path}: no ${extension} file in this folder`);
    } catch (error) {
      troubles.push(`${path}: ${reason(error)}`);
    }
  }
  if (troubles.length > 0) throw new UsageError(troubles.join("\n"));
  return [...found.values()];
}

function netlistsIn(folder: string, shown: string): string[] {
  const files: string[] = [];
  const entries = readdirSync(folder, { withFileTypes: true }).sort((a, b) => (a.name < b.name ? -1 : 1));
  for (const entry of entries) {
    if (entry.name.startsWith(".") || skipped.has(entry.name)) continue;
    const path = join(shown, entry.name);
    // A link to a folder is not followed: it could lead round in a circle.
    if (entry.isDirectory()) files.push(...netlistsIn(join(folder, entry.name), path));
    else if (entry.name.endsWith(extension) && isFile(join(folder, entry.name))) files.push(path);
  }
  return files;
}

function isFile(path: string): boolean {
  try {
    return statSync(path).isFile();
  } catch {
    // A link that leads nowhere: named, so that it is told when read.
    return lstatSync(path).isSymbolicLink();
  }
}

/** @throws UsageError when the file can't be read or isn't UTF-8 text */
export function readNetlist(file: NetlistFile): string {
  let bytes: Uint8Array;
  try {
    bytes = readFileSync(file.absolute);
  } catch (error) {
    throw new UsageError(`${file.path}: ${reason(error)}`);
  }
  return decode(file.path, bytes);
}

/** Reads them all, or throws one UsageError that names every file that can't be read. */
export function readNetlists(
  files: readonly NetlistFile[],
): { readonly file: NetlistFile; readonly text: string }[] {
  const troubles: string[] = [];
  const read = files.flatMap((file) => {
    try {
      return [{ file, text: readNetlist(file) }];
    } catch (error) {
      if (!(error instanceof UsageError)) throw error;
      troubles.push(error.message);
      return [];
    }
  });
  if (troubles.length > 0) throw new UsageError(troubles.join("\n"));
  return read;
}

/** @throws UsageError when the bytes aren't UTF-8 text */
export function decode(name: string, bytes: Uint8Array): string {
  try {
    const text = new TextDecoder("utf-8", { fatal: true }).decode(bytes);
    if (!text.includes("\0")) return text;
  } catch {
    // told below
  }
  throw new UsageError(`${name}: not a text file in UTF-8; save it as UTF-8 and try again`);
}

/** What an `include` reads, each file once. Undefined for a file that can't be read. */
export function includeReader(host: Pick<Host, "cwd">): (file: string) => string | undefined {
  const texts = new Map<string, string | undefined>();
  return (file) => {
    if (!texts.has(file)) {
      let text: string | undefined;
      try {
        text = decode(file, readFileSync(resolve(host.cwd, file)));
      } catch {
        text = undefined;
      }
      texts.set(file, text);
    }
    return texts.get(file);
  };
}

/**
 * Writes a file whole or not at all: to a new file in the same folder, which then takes the old one's place.
 * @throws UsageError when the folder or the file can't be written
 */
export function writeWhole(path: string, absolute: string, text: string): void {
  let folder: string | undefined;
  try {
    const target = behindLinks(absolute);
    folder = mkdtempSync(join(dirname(target), `.${basename(target)}-`));
    const temporary = join(folder, basename(target));
    writeFileSync(temporary, text, { mode: modeOf(target) });
    renameSync(temporary, target);
  } catch (error) {
    throw new UsageError(`${path}: not written: ${reason(error)}`);
  } finally {
    if (folder) rmSync(folder, { recursive: true, force: true });
  }
}

/** The file that a link stands for, so that the link stays one. */
function behindLinks(path: string): string {
  try {
    return realpathSync(path);
  } catch {
    return path;
  }
}

function modeOf(path: string): number {
  try {
    return statSync(path).mode & 0o777;
  } catch {
    return 0o644;
  }
}

/** The way to a file from the folder that the command runs in, for messages; absolute where it lies outside. */
export function shownPath(absolute: string, cwd: string): string {
  if (!isAbsolute(absolute)) return absolute;
  const path = relative(cwd, absolute);
  return path === "" || path.startsWith("..") ? absolute : path.split(sep).join("/");
}

/** The system's reason in words. */
export function reason(error: unknown): string {
  const code = (error as NodeJS.ErrnoException).code;
  switch (code) {
    case "ENOENT":
      return "no such file or folder";
    case "EACCES":
    case "EPERM":
      return "permission denied";
    case "EISDIR":
      return "is a folder";
    case "ENOTDIR":
      return "a part of the path is a file, not a folder";
    case "ELOOP":
      return "links that lead round in a circle";
    case "ENOSPC":
      return "the disk is full";
    case "EROFS":
      return "the disk is read-only";
    case "EMFILE":
    case "ENFILE":
      return "too many files open";
    default:
      return error instanceof Error ? error.message : String(error);
  }
}
