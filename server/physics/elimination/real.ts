/** Real numbers through an elimination that is laid out beforehand. */
import { type EliminationPlan, MOST_MULTIPLIER } from "./plan.ts";

/**
 * Factors in place.
 * @param a one per entry of the plan, those of fill zero
 * @returns false where a pivot has vanished
 */
export function factorReal(plan: EliminationPlan, a: Float64Array): boolean {
  const { size, pivot, lowerStart, lowerEntry, upperStart, upperEntry, target } = plan;
  let t = 0;
  for (let k = 0; k < size; k++) {
    const inverse = 1 / a[pivot[k]];
    // Written so that NaN fails too.
    if (!(inverse - inverse === 0)) return false;
    const from = upperStart[k];
    const to = upperStart[k + 1];
    for (let q = lowerStart[k], end = lowerStart[k + 1]; q < end; q++) {
      const factor = a[lowerEntry[q]] * inverse;
      if (!(factor < MOST_MULTIPLIER && factor > -MOST_MULTIPLIER)) return false;
      a[lowerEntry[q]] = factor;
      if (factor === 0) {
        t += to - from;
        continue;
      }
      for (let u = from; u < to; u++) a[target[t++]] -= factor * a[upperEntry[u]];
    }
  }
  return true;
}

/**
 * Solves with factors.
 * @param b right side by row, written over
 * @param x out, by column; not the same array
 */
export function solveReal(plan: EliminationPlan, a: Float64Array, b: Float64Array, x: Float64Array): void {
  const { size, row, column, pivot, lowerStart, lowerEntry, lowerRow, upperStart, upperEntry, upperColumn } =
    plan;
  for (let k = 0; k < size; k++) {
    const value = b[row[k]];
    if (value === 0) continue;
    for (let q = lowerStart[k], end = lowerStart[k + 1]; q < end; q++)
      b[lowerRow[q]] -= a[lowerEntry[q]] * value;
  }
  for (let k = size - 1; k >= 0; k--) {
    let value = b[row[k]];
    for (let u = upperStart[k], end = upperStart[k + 1]; u < end; u++)
      value -= a[upperEntry[u]] * x[upperColumn[u]];
    x[column[k]] = value / a[pivot[k]];
  }
}
