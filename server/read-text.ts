/** Files that say how netlists are checked, from the disk, for both hosts that have one. */
import { readFileSync } from "node:fs";
import type { Unreadable } from "./config/path.ts";
import { reason } from "./reason.ts";

/** @returns undefined where there is no such file, and why where one is there and can't be read as text */
export function readText(path: string): string | Unreadable | undefined {
  try {
    // Takes away the mark that some editors begin a file with.
    return new TextDecoder("utf-8", { fatal: true }).decode(readFileSync(path));
  } catch (error) {
    return unread(error);
  }
}

/** @param error of the file system, or of a decoder that is fatal */
export function unread(error: unknown): Unreadable | undefined {
  if (error instanceof TypeError) return { why: "not a text file in UTF-8; save it as UTF-8" };
  const { code } = error as NodeJS.ErrnoException;
  return code === "ENOENT" || code === "ENOTDIR" ? undefined : { why: reason(error) };
}
