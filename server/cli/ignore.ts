/** What a search leaves out, from the disk. */
import { sep } from "node:path";
import { ignoring as ignoringIn } from "../config/ignored.ts";
import { readText } from "../read-text.ts";
import type { Ignored } from "./files.ts";

export { ignoreFile } from "../config/names.ts";

/** @param configured patterns of the configurations, each with the folder that they count from */
export function ignoring(
  configured: readonly { readonly folder: string; readonly patterns: readonly string[] }[],
): Ignored {
  const ignored = ignoringIn(configured, readText);
  return (absolute) => ignored(absolute.split(sep).join("/"));
}
