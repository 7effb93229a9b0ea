/** Complex numbers through an elimination that is laid out beforehand. */
import { type EliminationPlan, MOST_MULTIPLIER } from "./plan.ts";

/**
 * Factors in place.
 * @param re,im one per entry of the plan, those of fill zero
 * @returns false where a pivot has vanished
 */
export function factorComplex(plan: EliminationPlan, re: Float64Array, im: Float64Array): boolean {
  const { size, pivot, lowerStart, lowerEntry, upperStart, upperEntry, target } = plan;
  const most = MOST_MULTIPLIER * MOST_MULTIPLIER;
  let t = 0;
  for (let k = 0; k < size; k++) {
    const pr = re[pivot[k]];
    const pi = im[pivot[k]];
    const square = pr * pr + pi * pi;
    if (!(square > 0 && square < Number.POSITIVE_INFINITY)) return false;
    const ir = pr / square;
    const ii = -pi / square;
    const from = upperStart[k];
    const to = upperStart[k + 1];
    for (let q = lowerStart[k], end = lowerStart[k + 1]; q < end; q++) {
      const at = lowerEntry[q];
      const lr = re[at] * ir - im[at] * ii;
      const li = re[at] * ii + im[at] * ir;
      if (!(lr * lr + li * li < most)) return false;
      re[at] = lr;
      im[at] = li;
      for (let u = from; u < to; u++, t++) {
        const ur = re[upperEntry[u]];
        const ui = im[upperEntry[u]];
        re[target[t]] -= lr * ur - li * ui;
        im[target[t]] -= lr * ui + li * ur;
      }
    }
  }
  return true;
}

/**
 * Solves with factors.
 * @param bRe,bIm right side by row, written over
 * @param xRe,xIm out, by column; not the same arrays
 */
export function solveComplex(
  plan: EliminationPlan,
  re: Float64Array,
  im: Float64Array,
  bRe: Float64Array,
  bIm: Float64Array,
  xRe: Float64Array,
  xIm: Float64Array,
): void {
  const { size, row, column, pivot, lowerStart, lowerEntry, lowerRow, upperStart, upperEntry, upperColumn } =
    plan;
  for (let k = 0; k < size; k++) {
    const r = bRe[row[k]];
    const i = bIm[row[k]];
    if (r === 0 && i === 0) continue;
    for (let q = lowerStart[k], end = lowerStart[k + 1]; q < end; q++) {
      const lr = re[lowerEntry[q]];
      const li = im[lowerEntry[q]];
      bRe[lowerRow[q]] -= lr * r - li * i;
      bIm[lowerRow[q]] -= lr * i + li * r;
    }
  }
  for (let k = size - 1; k >= 0; k--) {
    let r = bRe[row[k]];
    let i = bIm[row[k]];
    for (let u = upperStart[k], end = upperStart[k + 1]; u < end; u++) {
      const ur = re[upperEntry[u]];
      const ui = im[upperEntry[u]];
      const vr = xRe[upperColumn[u]];
      const vi = xIm[upperColumn[u]];
      r -= ur * vr - ui * vi;
      i -= ur * vi + ui * vr;
    }
    const pr = re[pivot[k]];
    const pi = im[pivot[k]];
    const square = pr * pr + pi * pi;
    xRe[column[k]] = (r * pr + i * pi) / square;
    xIm[column[k]] = (i * pr - r * pi) / square;
  }
}
