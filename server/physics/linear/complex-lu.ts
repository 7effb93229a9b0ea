/**
 * Complex sparse systems for phasors, as a real system of twice the size: each unknown is a pair (real, imaginary), each entry
 * a block [re −im; im re]. The pattern is ordered once and refactored for every frequency.
 */
import { buildPattern, type Pattern } from "./pattern.ts";
import { doubles, integers } from "./slabs.ts";
import { SparseLu } from "./sparse-lu.ts";

export class ComplexSparseLu {
  readonly pattern: Pattern;
  private readonly lu: SparseLu;
  private readonly entry: Int32Array;
  private readonly values: Float64Array;
  private readonly right: Float64Array;

  constructor(pattern: Pattern) {
    this.pattern = pattern;
    const n = pattern.size;
    const count = pattern.rows.length;
    const rows = integers(4 * count);
    const columns = integers(4 * count);
    let k = 0;
    for (let c = 0; c < n; c++) {
      for (let p = pattern.columnStart[c]; p < pattern.columnStart[c + 1]; p++) {
        const r = pattern.rows[p];
        for (const [dr, dc] of [
          [0, 0],
          [0, 1],
          [1, 0],
          [1, 1],
        ]) {
          rows[k] = 2 * r + dr;
          columns[k] = 2 * c + dc;
          k++;
        }
      }
    }
    const built = buildPattern(2 * n, rows, columns);
    this.entry = built.entry;
    this.lu = new SparseLu(built.pattern);
    this.values = doubles(built.pattern.rows.length);
    this.right = doubles(2 * n);
  }

  /**
   * @param re,im one per entry of the pattern
   * @returns false for a singular matrix
   */
  factor(re: Float64Array, im: Float64Array): boolean {
    const { entry, values } = this;
    for (let p = 0; p < re.length; p++) {
      values[entry[4 * p]] = re[p];
      values[entry[4 * p + 1]] = -im[p];
      values[entry[4 * p + 2]] = im[p];
      values[entry[4 * p + 3]] = re[p];
    }
    return this.lu.factor(values);
  }

  /** Solve A x = b, all as separate real and imaginary parts; x may be b. */
  solve(bRe: Float64Array, bIm: Float64Array, xRe: Float64Array, xIm: Float64Array): void {
    const n = this.pattern.size;
    const right = this.right;
    for (let i = 0; i < n; i++) {
      right[2 * i] = bRe[i];
      right[2 * i + 1] = bIm[i];
    }
    this.lu.solve(right, right);
    for (let i = 0; i < n; i++) {
      xRe[i] = right[2 * i];
      xIm[i] = right[2 * i + 1];
    }
  }
}
