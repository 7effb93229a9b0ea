/** Writing files whole or not at all. */
import {
  closeSync,
  mkdirSync,
  mkdtempSync,
  openSync,
  realpathSync,
  renameSync,
  rmSync,
  statSync,
  writeFileSync,
} from "node:fs";
import { basename, dirname, join } from "node:path";
import { reason } from "../reason.ts";
import { UsageError } from "./status.ts";

/**
 * Writes a file whole or not at all: to a new file beside it, which then takes the old one's place. The old one's mode
 * is kept, and a link stays a link.
 * @param path as the user gave it, for the message
 * @param text whole, or its parts in their order
 * @throws UsageError when the folder or the file can't be written
 */
export function writeWhole(path: string, absolute: string, text: string | Iterable<string | Buffer>): void {
  const parts = typeof text === "string" ? [text] : text;
  let folder: string | undefined;
  try {
    const target = behindLinks(absolute);
    if (isDevice(target)) {
      // A device or a pipe (/dev/stdout) is written to: putting a file in its place would take it away.
      writeParts(target, "w", 0o666, parts);
      return;
    }
    folder = mkdtempSync(join(dirname(target), `.${basename(target)}-`));
    const temporary = join(folder, basename(target));
    writeParts(temporary, "wx", modeOf(target), parts);
    renameSync(temporary, target);
  } catch (error) {
    throw new UsageError(`${path}: not written: ${reason(error, "writing")}`);
  } finally {
    if (folder) rmSync(folder, { recursive: true, force: true });
  }
}

function writeParts(path: string, flag: string, mode: number, parts: Iterable<string | Buffer>): void {
  const file = openSync(path, flag, mode);
  try {
    for (const part of parts) writeFileSync(file, part);
  } finally {
    closeSync(file);
  }
}

/** @throws UsageError */
export function makeFolder(path: string, absolute: string): void {
  try {
    mkdirSync(absolute, { recursive: true });
  } catch (error) {
    throw new UsageError(`${path}: this folder could not be made: ${reason(error, "writing")}`);
  }
}

export function isDevice(path: string): boolean {
  try {
    const kind = statSync(path);
    return !kind.isFile() && !kind.isDirectory();
  } catch {
    return false;
  }
}

/** The file that a link stands for, so that the link stays one. Of one that isn't there yet, its folder's. */
export function behindLinks(path: string): string {
  try {
    return realpathSync(path);
  } catch {
    try {
      return join(realpathSync(dirname(path)), basename(path));
    } catch {
      return path;
    }
  }
}

function modeOf(path: string): number {
  try {
    return statSync(path).mode & 0o777;
  } catch {
    return 0o644;
  }
}
