/** Solve a small dense system in place by elimination with row exchange. */

/**
 * @param a row-major n x n, destroyed
 * @param b right side in, solution out
 * @returns false when singular
 */
export function solveDense(a: Float64Array, b: Float64Array, n: number): boolean {
  for (let k = 0; k < n; k++) {
    let best = k;
    let most = Math.abs(a[k * n + k]);
    for (let i = k + 1; i < n; i++) {
      const size = Math.abs(a[i * n + k]);
      if (size > most) {
        most = size;
        best = i;
      }
    }
    if (!(most > 0)) return false;
    if (best !== k) {
      for (let j = k; j < n; j++) {
        const t = a[k * n + j];
        a[k * n + j] = a[best * n + j];
        a[best * n + j] = t;
      }
      const t = b[k];
      b[k] = b[best];
      b[best] = t;
    }
    const inverse = 1 / a[k * n + k];
    for (let i = k + 1; i < n; i++) {
      const factor = a[i * n + k] * inverse;
      if (factor === 0) continue;
      for (let j = k + 1; j < n; j++) a[i * n + j] -= factor * a[k * n + j];
      b[i] -= factor * b[k];
    }
  }
  for (let i = n - 1; i >= 0; i--) {
    let sum = b[i];
    for (let j = i + 1; j < n; j++) sum -= a[i * n + j] * b[j];
    b[i] = sum / a[i * n + i];
  }
  return true;
}
