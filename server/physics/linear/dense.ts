/** Small dense systems, solved in place. */

/**
 * Solves M Y = R in place (R becomes Y) by Gaussian elimination with row exchange.
 * @param M n x n, row-major, destroyed
 * @param R n x columns, row-major
 * @returns false where M is singular; the numbers are then not finite
 */
export function solveDense(M: Float64Array, R: Float64Array, n: number, columns = 1): boolean {
  let regular = true;
  for (let k = 0; k < n; k++) {
    let best = k;
    let size = Math.abs(M[k * n + k]);
    for (let r = k + 1; r < n; r++) {
      const s = Math.abs(M[r * n + k]);
      if (s > size) {
        size = s;
        best = r;
      }
    }
    if (best !== k) {
      for (let c = k; c < n; c++) {
        const t = M[k * n + c];
        M[k * n + c] = M[best * n + c];
        M[best * n + c] = t;
      }
      for (let c = 0; c < columns; c++) {
        const t = R[k * columns + c];
        R[k * columns + c] = R[best * columns + c];
        R[best * columns + c] = t;
      }
    }
    const pivot = M[k * n + k];
    if (!(Math.abs(pivot) > 0)) regular = false;
    const inverse = 1 / pivot;
    for (let r = k + 1; r < n; r++) {
      const factor = M[r * n + k] * inverse;
      if (factor === 0) continue;
      for (let c = k + 1; c < n; c++) M[r * n + c] -= factor * M[k * n + c];
      for (let c = 0; c < columns; c++) R[r * columns + c] -= factor * R[k * columns + c];
    }
  }
  for (let k = n - 1; k >= 0; k--) {
    const pivot = M[k * n + k];
    for (let c = 0; c < columns; c++) {
      let sum = R[k * columns + c];
      for (let j = k + 1; j < n; j++) sum -= M[k * n + j] * R[j * columns + c];
      R[k * columns + c] = sum / pivot;
    }
  }
  return regular;
}

/** The same, R with `columns` columns; the sizes met most are written out. */
export function solveColumns(m: Float64Array, r: Float64Array, n: number, columns: number): void {
  if (n === 1) {
    const inverse = 1 / m[0];
    for (let c = 0; c < columns; c++) r[c] *= inverse;
    return;
  }
  if (n === 2) {
    const m0 = m[0];
    const m1 = m[1];
    const m2 = m[2];
    const m3 = m[3];
    const inverse = 1 / (m0 * m3 - m1 * m2);
    for (let c = 0; c < columns; c++) {
      const p = r[c];
      const q = r[columns + c];
      r[c] = (m3 * p - m1 * q) * inverse;
      r[columns + c] = (m0 * q - m2 * p) * inverse;
    }
    return;
  }
  solveDense(m, r, n, columns);
}
