/** What a search leaves out: `.derateignore` files, in the manner of `.gitignore`, and the configuration's `ignore`. */
import ignore, { type Ignore } from "ignore";
import { ignoreFile } from "./names.ts";
import { folderOf, type ReadText } from "./path.ts";

interface Patterns {
  readonly folder: string;
  readonly patterns: Ignore;
}

/**
 * @param configured patterns of the configurations, each with the folder that they count from
 * @param read the text of a file by its absolute path with `/`
 * @returns whether a search leaves a file or folder out, by its absolute path with `/`; a folder's ends in one
 */
export function ignoring(
  configured: readonly { readonly folder: string; readonly patterns: readonly string[] }[],
  read: ReadText,
): (absolute: string) => boolean {
  const byFolder = new Map<string, Patterns | undefined>();
  const fixed = configured.map(({ folder, patterns }) => ({ folder, patterns: ignore().add([...patterns]) }));
  const inFolder = (folder: string): Patterns | undefined => {
    if (!byFolder.has(folder)) {
      const text = read(`${folder === "/" ? "" : folder}/${ignoreFile}`);
      byFolder.set(folder, typeof text === "string" ? { folder, patterns: ignore().add(text) } : undefined);
    }
    return byFolder.get(folder);
  };
  return (absolute) => {
    const path = absolute.endsWith("/") ? absolute.slice(0, -1) : absolute;
    const ends = absolute.endsWith("/") ? "/" : "";
    for (let folder = folderOf(path); ; folder = folderOf(folder)) {
      const own = inFolder(folder);
      if (own && holds(own, path, ends)) return true;
      if (folderOf(folder) === folder) break;
    }
    return fixed.some((own) => holds(own, path, ends));
  };
}

function holds({ folder, patterns }: Patterns, path: string, ends: string): boolean {
  const prefix = folder.endsWith("/") ? folder : `${folder}/`;
  if (!path.startsWith(prefix) || path.length === prefix.length) return false;
  const below = path.slice(prefix.length);
  // A folder above that is left out takes everything in it along.
  return ignore.isPathValid(below) && patterns.ignores(below + ends);
}
