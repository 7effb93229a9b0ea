/** What the sections of each kind of valve are called, and the other words that a file may have for them. */
import type { ValveKind } from "./file.ts";

/** In the order in which the type is named: an ECL82 is a triode and a pentode. */
export function sectionNamesOf(kind: ValveKind): readonly string[] {
  switch (kind) {
    case "twin-triode":
      return ["a", "b"];
    case "triode-pentode":
      return ["triode", "pentode"];
    default:
      return [""];
  }
}

const letters = ["a", "b"];

/** The section that a word means: by its name, or by its letter (`a` is the first). */
export function sectionMeant(names: readonly string[], word: string): string | undefined {
  if (names.includes(word)) return word;
  return names.length > 1 ? names[letters.indexOf(word)] : undefined;
}
