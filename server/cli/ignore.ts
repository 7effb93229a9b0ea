/** What a search leaves out: `.derateignore` files, in the manner of `.gitignore`, and the configuration's `ignore`. */
import { readFileSync } from "node:fs";
import { dirname, relative, sep } from "node:path";
import ignore, { type Ignore } from "ignore";
import type { Ignored } from "./files.ts";

export const ignoreFile = ".derateignore";

interface Patterns {
  readonly folder: string;
  readonly patterns: Ignore;
}

/** @param configured patterns of the configurations, each with the folder that they count from */
export function ignoring(
  configured: readonly { readonly folder: string; readonly patterns: readonly string[] }[],
): Ignored {
  const byFolder = new Map<string, Patterns | undefined>();
  const fixed = configured.map(({ folder, patterns }) => ({ folder, patterns: ignore().add([...patterns]) }));
  const inFolder = (folder: string): Patterns | undefined => {
    if (!byFolder.has(folder)) byFolder.set(folder, read(folder));
    return byFolder.get(folder);
  };
  return (absolute) => {
    const path = absolute.endsWith("/") ? absolute.slice(0, -1) : absolute;
    const ends = absolute.endsWith("/") ? "/" : "";
    for (let folder = dirname(path); ; folder = dirname(folder)) {
      const own = inFolder(folder);
      if (own && holds(own, path, ends)) return true;
      if (dirname(folder) === folder) break;
    }
    return fixed.some((own) => holds(own, path, ends));
  };
}

function read(folder: string): Patterns | undefined {
  try {
    return { folder, patterns: ignore().add(readFileSync(`${folder}/${ignoreFile}`, "utf8")) };
  } catch {
    return undefined;
  }
}

function holds({ folder, patterns }: Patterns, path: string, ends: string): boolean {
  const below = relative(folder, path).split(sep).join("/");
  return below !== "" && !below.startsWith("../") && below !== ".." && patterns.ignores(below + ends);
}
