/** What follows from a matrix's pattern alone, kept: a circuit edited is nearly always the same network with other values. */
import type { Pattern } from "./pattern.ts";

/** So many are kept, of patterns up to so many entries. */
const MOST_KEPT = 16;
const MOST_ENTRIES = 10_000;

export class KeptByPattern<T> {
  /** The one last asked for is the last. */
  private readonly kept: { readonly pattern: Pattern; readonly value: T }[] = [];

  of(pattern: Pattern, find: () => T): T {
    const { kept } = this;
    const at = kept.findIndex((known) => alike(known.pattern, pattern));
    const [known] = at >= 0 ? kept.splice(at, 1) : [{ pattern, value: find() }];
    if (pattern.rows.length <= MOST_ENTRIES) kept.push(known);
    if (kept.length > MOST_KEPT) kept.shift();
    return known.value;
  }
}

function alike(a: Pattern, b: Pattern): boolean {
  if (a === b) return true;
  if (a.size !== b.size || a.rows.length !== b.rows.length) return false;
  for (let k = 0; k <= a.size; k++) if (a.columnStart[k] !== b.columnStart[k]) return false;
  for (let p = 0; p < a.rows.length; p++) if (a.rows[p] !== b.rows[p]) return false;
  return true;
}
