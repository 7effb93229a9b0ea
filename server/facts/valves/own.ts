/** A user's own types with their fitted laws: plain data, so that it crosses threads and counts in a cache's key. */
import type { ValveFile } from "./file.ts";
import type { FitsFile } from "./fit-file.ts";

export interface OwnValves {
  /** As `userValves` gives them; a later one of a name takes the place of an earlier one. */
  readonly valves: readonly ValveFile[];
  /** By type, of those that give points. */
  readonly fits: FitsFile;
}
