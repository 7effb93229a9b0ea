/** Problems met while the circuit is built, and the words that their messages are made of. */
import { nearNames } from "../../grammar/near.ts";
import type { Range } from "../../grammar/tree.ts";
import type { CircuitProblem, Place } from "./model.ts";

export type Problems = CircuitProblem[];

export function problem(
  rule: string,
  message: string,
  file: string,
  range: Range,
  on: readonly string[],
  more: Partial<Pick<CircuitProblem, "related" | "fix">> = {},
): CircuitProblem {
  return { rule, message, place: { file, range }, on, ...more };
}

/** `a, b or c` */
export function either(words: readonly string[]): string {
  if (words.length < 2) return words[0] ?? "";
  return `${words.slice(0, -1).join(", ")} or ${words[words.length - 1]}`;
}

/** `a, b and c` */
export function listed(words: readonly string[]): string {
  if (words.length < 2) return words[0] ?? "";
  return `${words.slice(0, -1).join(", ")} and ${words[words.length - 1]}`;
}

/** `a resistor`, `an output-transformer` */
export function withArticle(noun: string): string {
  return `${/^[aeiou]/.test(noun) ? "an" : "a"} ${noun}`;
}

/** Sentence and fix for a word that is not known: the near names, or all of them where none is near. */
export function near(
  word: string,
  names: readonly string[],
  place: Place,
  every = "Known here",
): { readonly sentence: string; readonly fix?: CircuitProblem["fix"] } {
  // Letters that changed places (ECC38 for ECC83) are two steps apart by count and one by hand.
  const turned = names.filter((name) => name !== word && letters(name) === letters(word));
  const nearest = nearNames(word, names);
  const swapped = nearest.filter((name) => turned.includes(name));
  const close = [...new Set([...swapped, ...turned, ...nearest])].slice(0, 3);
  if (close.length > 0) {
    return {
      sentence: ` Did you mean ${either(close)}?`,
      fix: { title: `Write ${close[0]}`, place, text: close[0] },
    };
  }
  return { sentence: names.length > 0 && names.length <= 16 ? ` ${every}: ${names.join(", ")}.` : "" };
}

/** Alike for words that only have their letters in another order. */
export function letters(word: string): string {
  return [...word.toLowerCase()].sort().join("");
}
