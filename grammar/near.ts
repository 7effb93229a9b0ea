import { distance } from "fastest-levenshtein";
import { otherNames } from "./names.ts";

/**
 * The known names that a mistyped word most likely meant: at most three, closest first, equal ones in the order given.
 * A name counts as near when at most a third of its letters (one at least) would have to change; case counts half.
 */
export function nearNames(word: string, names: Iterable<string>): readonly string[] {
  const lower = word.toLowerCase();
  const near: { name: string; steps: number }[] = [];
  for (const name of names) {
    if (name === word) continue;
    const allowed = Math.max(1, Math.floor(Math.max(name.length, word.length) / 3));
    if (Math.abs(name.length - word.length) > allowed) continue;
    const nameLower = name.toLowerCase();
    // Two letters that changed places (vlave) are two steps apart by count and one by hand.
    const steps = swapped(lower, nameLower)
      ? 1
      : distance(lower, nameLower) + (nameLower === lower ? 0.5 : 0);
    if (steps <= allowed) near.push({ name, steps });
  }
  near.sort((one, other) => one.steps - other.steps);
  return near.slice(0, 3).map((entry) => entry.name);
}

/** True where two letters side by side have changed places, and nothing else is otherwise. */
function swapped(word: string, name: string): boolean {
  if (word.length !== name.length || word.length < 3) return false;
  let at = 0;
  while (at < word.length && word[at] === name[at]) at++;
  return (
    word[at] === name[at + 1] &&
    word[at + 1] === name[at] &&
    word.slice(at + 2) === name.slice(at + 2) &&
    at + 1 < word.length
  );
}

/** ` Did you mean a, b or c?` with its leading blank, or nothing where no name is near. */
export function didYouMean(word: string, names: Iterable<string>): string {
  return asked(nearNames(word, names));
}

/** The same for a kind or a statement's first word, where another word of the trade may stand for one (`tube`). */
export function didYouMeanKind(word: string, names: Iterable<string>): string {
  const other = Object.hasOwn(otherNames, word.toLowerCase()) ? otherNames[word.toLowerCase()] : undefined;
  return asked(other ?? nearNames(word, names));
}

function asked(near: readonly string[]): string {
  if (near.length === 0) return "";
  const last = near[near.length - 1];
  return ` Did you mean ${near.length === 1 ? last : `${near.slice(0, -1).join(", ")} or ${last}`}?`;
}
