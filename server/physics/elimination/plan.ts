/**
 * An elimination laid out beforehand: which entry is multiplied with which, and where the product goes. For matrices that keep their
 * pivots whatever their numbers (a network with a capacitance or a leak at every node nearly always does) there is then nothing
 * left to look for, and several matrices of one pattern cost their multiplications alone.
 */
import { KeptByPattern } from "../linear/kept-by-pattern.ts";
import { orderingOf } from "../linear/ordering.ts";
import type { Pattern } from "../linear/pattern.ts";
import { integers } from "../linear/slabs.ts";

export interface EliminationPlan {
  readonly size: number;
  /** Entries of the factors; the matrix's own come first, in the order of the pattern. */
  readonly entries: number;
  /** Row and column of each step, and the entry of its pivot. */
  readonly row: Int32Array;
  readonly column: Int32Array;
  readonly pivot: Int32Array;
  /** Of each step: the rows below, with the entry to be made a multiplier; start has length size + 1. */
  readonly lowerStart: Int32Array;
  readonly lowerEntry: Int32Array;
  readonly lowerRow: Int32Array;
  /** Of each step: the entries right of the pivot, with their columns. */
  readonly upperStart: Int32Array;
  readonly upperEntry: Int32Array;
  readonly upperColumn: Int32Array;
  /** Where the products go: by step, row below, entry to the right. */
  readonly target: Int32Array;
}

const plans = new KeptByPattern<EliminationPlan | undefined>();

/** @returns undefined for a matrix that is singular by its pattern alone */
export function planElimination(pattern: Pattern): EliminationPlan | undefined {
  return plans.of(pattern, () => layOut(pattern));
}

function layOut(pattern: Pattern): EliminationPlan | undefined {
  const { size, columnStart, rows } = pattern;
  const { rowOf, order: column } = orderingOf(pattern);
  if (rowOf.includes(-1)) return undefined;
  const step = integers(size);
  for (let k = 0; k < size; k++) step[column[k]] = k;
  // Entries of each row by column; of each column the rows.
  const across = Array.from({ length: size }, () => new Map<number, number>());
  const down: number[][] = Array.from({ length: size }, () => []);
  for (let c = 0; c < size; c++) {
    for (let p = columnStart[c]; p < columnStart[c + 1]; p++) {
      across[rows[p]].set(c, p);
      down[c].push(rows[p]);
    }
  }
  let entries = rows.length;
  const done = new Uint8Array(size);
  const pivot = integers(size);
  const row = integers(size);
  const lowerStart = integers(size + 1);
  const upperStart = integers(size + 1);
  const lowerEntry: number[] = [];
  const lowerRow: number[] = [];
  const upperEntry: number[] = [];
  const upperColumn: number[] = [];
  const target: number[] = [];
  for (let k = 0; k < size; k++) {
    const c = column[k];
    const r = rowOf[c];
    row[k] = r;
    done[r] = 1;
    pivot[k] = across[r].get(c)!;
    for (const [other, entry] of across[r]) {
      if (step[other] <= k) continue;
      upperEntry.push(entry);
      upperColumn.push(other);
    }
    const last = upperColumn.length;
    for (const below of down[c]) {
      if (done[below] === 1) continue;
      const own = across[below];
      lowerEntry.push(own.get(c)!);
      lowerRow.push(below);
      for (let u = upperStart[k]; u < last; u++) {
        const other = upperColumn[u];
        let entry = own.get(other);
        if (entry === undefined) {
          entry = entries++;
          own.set(other, entry);
          down[other].push(below);
        }
        target.push(entry);
      }
    }
    lowerStart[k + 1] = lowerRow.length;
    upperStart[k + 1] = last;
  }
  return {
    size,
    entries,
    row,
    column,
    pivot,
    lowerStart,
    lowerEntry: Int32Array.from(lowerEntry),
    lowerRow: Int32Array.from(lowerRow),
    upperStart,
    upperEntry: Int32Array.from(upperEntry),
    upperColumn: Int32Array.from(upperColumn),
    target: Int32Array.from(target),
  };
}

/** A multiplier past this is a pivot that has all but vanished: the answer could not be trusted. */
export const MOST_MULTIPLIER = 1e7;
