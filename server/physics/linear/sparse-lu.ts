/**
 * Sparse LU with a fixed pattern: ordered once, factored once with threshold pivoting (left-looking, column by column: Gilbert and
 * Peierls, SIAM J. Sci. Stat. Comput. 9, 1988), then refactored in place with new numbers at every Newton step. When a
 * pivot degrades under new numbers the pivots are chosen afresh.
 */
import { orderingOf } from "./ordering.ts";
import type { Pattern } from "./pattern.ts";
import { doubles, integers } from "./slabs.ts";

/** A paired pivot is kept while it is at least this part of the largest candidate: keeps the fill low. */
const PREFERENCE = 0.05;
/** A refactored pivot below this part of its column's largest multiplier calls for new pivots. */
const DEGRADED = 1e-7;

export class SparseLu {
  readonly pattern: Pattern;
  /** After a `factor` that gave false: the unknown (column) at which no pivot was left. */
  singularAt = -1;
  /** Of the last factorisation: how many multiply-adds one refactorisation costs. */
  operations = 0;

  private readonly rowOf: Int32Array;
  private readonly order: Int32Array;
  private factored = false;
  // L: unit diagonal not stored, rows by place in elimination order. U: diagonal apart, entries in an order fit for solving.
  private lowerStart: Int32Array;
  private lowerRows = new Int32Array(0);
  private lower = new Float64Array(0);
  private upperStart: Int32Array;
  private upperRows = new Int32Array(0);
  private upper = new Float64Array(0);
  private readonly diagonal: Float64Array;
  /** Place in elimination order of each row. */
  private readonly placeOfRow: Int32Array;
  /** `pattern.rows` by place in elimination order. */
  private readonly placedRows: Int32Array;
  private readonly work: Float64Array;

  constructor(pattern: Pattern) {
    const n = pattern.size;
    this.pattern = pattern;
    const { rowOf, order } = orderingOf(pattern);
    this.rowOf = rowOf;
    this.order = order;
    this.lowerStart = integers(n + 1);
    this.upperStart = integers(n + 1);
    this.diagonal = doubles(n);
    this.placeOfRow = integers(n);
    this.placedRows = integers(pattern.rows.length);
    this.work = doubles(n);
  }

  /** Entries of L and U together, diagonal included. */
  get fill(): number {
    return this.lowerStart[this.pattern.size] + this.upperStart[this.pattern.size] + this.pattern.size;
  }

  /**
   * Numeric factorisation: with the pivots of the last one where they hold, otherwise with new ones.
   * @param values one per entry of the pattern
   * @returns false for a singular matrix; `singularAt` says where
   */
  factor(values: Float64Array): boolean {
    if (this.factored && this.refactor(values)) return true;
    this.factored = this.factorAfresh(values);
    return this.factored;
  }

  /** Same pivots, new numbers. False when a pivot is no longer good enough. */
  private refactor(values: Float64Array): boolean {
    const { columnStart } = this.pattern;
    const n = this.pattern.size;
    const { order, placedRows, lowerStart, lowerRows, lower, upperStart, upperRows, upper, diagonal, work } =
      this;
    for (let k = 0; k < n; k++) {
      const column = order[k];
      for (let p = columnStart[column], end = columnStart[column + 1]; p < end; p++) {
        work[placedRows[p]] = values[p];
      }
      for (let p = upperStart[k], end = upperStart[k + 1]; p < end; p++) {
        const j = upperRows[p];
        const factor = work[j];
        work[j] = 0;
        upper[p] = factor;
        if (factor !== 0) {
          for (let q = lowerStart[j], stop = lowerStart[j + 1]; q < stop; q++) {
            work[lowerRows[q]] -= lower[q] * factor;
          }
        }
      }
      const pivot = work[k];
      work[k] = 0;
      diagonal[k] = pivot;
      const inverse = 1 / pivot;
      let largest = 0;
      for (let q = lowerStart[k], stop = lowerStart[k + 1]; q < stop; q++) {
        const row = lowerRows[q];
        const multiplier = work[row] * inverse;
        work[row] = 0;
        lower[q] = multiplier;
        const size = multiplier < 0 ? -multiplier : multiplier;
        if (size > largest) largest = size;
      }
      // Written so that NaN fails too.
      if (!(largest * DEGRADED < 1 && pivot !== 0 && inverse - inverse === 0)) {
        work.fill(0);
        return false;
      }
    }
    return true;
  }

  private factorAfresh(values: Float64Array): boolean {
    const { columnStart, rows } = this.pattern;
    const n = this.pattern.size;
    const { order, rowOf, diagonal, placeOfRow, work } = this;
    this.singularAt = -1;
    placeOfRow.fill(-1);
    const lowerStart = this.lowerStart;
    const upperStart = this.upperStart;
    const guess = Math.max(4 * rows.length, 16);
    let lowerRows = this.lowerRows.length > guess ? this.lowerRows : integers(guess);
    let lower = this.lower.length > guess ? this.lower : doubles(guess);
    let upperRows = this.upperRows.length > guess ? this.upperRows : integers(guess);
    let upper = this.upper.length > guess ? this.upper : doubles(guess);
    let lowerCount = 0;
    let upperCount = 0;
    let operations = 0;
    const seen = integers(n).fill(-1);
    const stack = integers(n);
    const next = integers(n);
    const reached = integers(n);
    work.fill(0);
    const fail = (column: number): false => {
      this.singularAt = column;
      work.fill(0);
      return false;
    };
    for (let k = 0; k < n; k++) {
      const column = order[k];
      lowerStart[k] = lowerCount;
      upperStart[k] = upperCount;
      // Rows that this column reaches through L, dependencies first when read from `first` on.
      let first = n;
      for (let p = columnStart[column]; p < columnStart[column + 1]; p++) {
        if (seen[rows[p]] === k) continue;
        let depth = 0;
        stack[0] = rows[p];
        seen[rows[p]] = k;
        next[0] = placeOfRow[rows[p]] === -1 ? 0 : lowerStart[placeOfRow[rows[p]]];
        while (depth >= 0) {
          const row = stack[depth];
          const place = placeOfRow[row];
          let deeper = false;
          if (place !== -1) {
            const end = lowerStart[place + 1];
            while (next[depth] < end) {
              const below = lowerRows[next[depth]++];
              if (seen[below] === k) continue;
              seen[below] = k;
              depth++;
              stack[depth] = below;
              next[depth] = placeOfRow[below] === -1 ? 0 : lowerStart[placeOfRow[below]];
              deeper = true;
              break;
            }
          }
          if (!deeper) {
            reached[--first] = row;
            depth--;
          }
        }
      }
      for (let p = columnStart[column]; p < columnStart[column + 1]; p++) work[rows[p]] = values[p];
      if (upperCount + n - first > upperRows.length) {
        upperRows = larger(upperRows, upperCount + n - first);
        upper = largerFloats(upper, upperRows.length);
      }
      if (lowerCount + n - first > lowerRows.length) {
        lowerRows = larger(lowerRows, lowerCount + n - first);
        lower = largerFloats(lower, lowerRows.length);
      }
      let largest = 0;
      let pivotRow = -1;
      for (let s = first; s < n; s++) {
        const row = reached[s];
        const place = placeOfRow[row];
        const value = work[row];
        if (place !== -1) {
          upperRows[upperCount] = place;
          upper[upperCount++] = value;
          work[row] = 0;
          const end = lowerStart[place + 1];
          operations += end - lowerStart[place];
          if (value !== 0)
            for (let q = lowerStart[place]; q < end; q++) work[lowerRows[q]] -= lower[q] * value;
        }
      }
      for (let s = first; s < n; s++) {
        const row = reached[s];
        if (placeOfRow[row] !== -1) continue;
        const size = Math.abs(work[row]);
        if (size > largest) {
          largest = size;
          pivotRow = row;
        }
      }
      // Written so that NaN fails too.
      if (!(largest > 0 && largest < Number.POSITIVE_INFINITY)) return fail(column);
      const paired = rowOf[column];
      if (
        paired !== -1 &&
        placeOfRow[paired] === -1 &&
        seen[paired] === k &&
        Math.abs(work[paired]) >= PREFERENCE * largest
      ) {
        pivotRow = paired;
      }
      const pivot = work[pivotRow];
      work[pivotRow] = 0;
      diagonal[k] = pivot;
      placeOfRow[pivotRow] = k;
      for (let s = first; s < n; s++) {
        const row = reached[s];
        if (placeOfRow[row] !== -1) continue;
        lowerRows[lowerCount] = row;
        lower[lowerCount++] = work[row] / pivot;
        work[row] = 0;
      }
      operations += lowerCount - lowerStart[k] + 1;
      lowerStart[k + 1] = lowerCount;
      upperStart[k + 1] = upperCount;
    }
    for (let q = 0; q < lowerCount; q++) lowerRows[q] = placeOfRow[lowerRows[q]];
    const placedRows = this.placedRows;
    for (let p = 0; p < rows.length; p++) placedRows[p] = placeOfRow[rows[p]];
    this.lowerRows = lowerRows;
    this.lower = lower;
    this.upperRows = upperRows;
    this.upper = upper;
    this.operations = operations;
    return true;
  }

  /**
   * Solve A x = b with the last factorisation.
   * @param b right-hand side by row; @param x out, by column; may be the same array
   */
  solve(b: Float64Array, x: Float64Array): void {
    const n = this.pattern.size;
    const { order, placeOfRow, lowerStart, lowerRows, lower, upperStart, upperRows, upper, diagonal, work } =
      this;
    for (let i = 0; i < n; i++) work[placeOfRow[i]] = b[i];
    for (let k = 0; k < n; k++) {
      const value = work[k];
      if (value === 0) continue;
      for (let q = lowerStart[k], stop = lowerStart[k + 1]; q < stop; q++)
        work[lowerRows[q]] -= lower[q] * value;
    }
    for (let k = n - 1; k >= 0; k--) {
      const value = work[k] / diagonal[k];
      work[k] = 0;
      x[order[k]] = value;
      if (value === 0) continue;
      for (let p = upperStart[k], stop = upperStart[k + 1]; p < stop; p++)
        work[upperRows[p]] -= upper[p] * value;
    }
  }

  /**
   * Solve Aᵀ x = b (the adjoint) with the last factorisation.
   * @param b right-hand side by column; @param x out, by row; may be the same array
   */
  solveTransposed(b: Float64Array, x: Float64Array): void {
    const n = this.pattern.size;
    const { order, placeOfRow, lowerStart, lowerRows, lower, upperStart, upperRows, upper, diagonal, work } =
      this;
    for (let k = 0; k < n; k++) {
      let sum = b[order[k]];
      for (let p = upperStart[k], stop = upperStart[k + 1]; p < stop; p++)
        sum -= upper[p] * work[upperRows[p]];
      work[k] = sum / diagonal[k];
    }
    for (let k = n - 1; k >= 0; k--) {
      let sum = work[k];
      for (let q = lowerStart[k], stop = lowerStart[k + 1]; q < stop; q++)
        sum -= lower[q] * work[lowerRows[q]];
      work[k] = sum;
    }
    for (let i = 0; i < n; i++) x[i] = work[placeOfRow[i]];
    work.fill(0);
  }

  /** Solve for several right-hand sides, stored one after another in `b`; the solutions take their places in `x`. */
  solveMany(b: Float64Array, x: Float64Array, count: number): void {
    const n = this.pattern.size;
    for (let c = 0; c < count; c++)
      this.solve(b.subarray(c * n, (c + 1) * n), x.subarray(c * n, (c + 1) * n));
  }

  /** Free the work behind a factorisation that will not come again: the next one chooses its pivots afresh. */
  forget(): void {
    this.factored = false;
  }
}

/** y = A x. */
export function multiply(pattern: Pattern, values: Float64Array, x: Float64Array, y: Float64Array): void {
  const { size, columnStart, rows } = pattern;
  y.fill(0, 0, size);
  for (let c = 0; c < size; c++) {
    const factor = x[c];
    if (factor === 0) continue;
    for (let p = columnStart[c], end = columnStart[c + 1]; p < end; p++) y[rows[p]] += values[p] * factor;
  }
}

function larger(old: Int32Array, needed: number): Int32Array<ArrayBuffer> {
  const grown = integers(Math.max(old.length * 2, needed));
  grown.set(old);
  return grown;
}

function largerFloats(old: Float64Array, length: number): Float64Array<ArrayBuffer> {
  const grown = doubles(length);
  grown.set(old);
  return grown;
}
