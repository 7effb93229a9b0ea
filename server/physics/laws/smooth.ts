/** Smooth pieces that the laws are made of: no overflow for any argument. */

/** ln(1 + e^z). */
export function softplus(z: number): number {
  if (z > 36) return z;
  if (z < -36) return Math.exp(z);
  return Math.log1p(Math.exp(z));
}

/** Derivative of `softplus`. */
export function logistic(z: number): number {
  if (z >= 0) return 1 / (1 + Math.exp(-z));
  const e = Math.exp(z);
  return e / (1 + e);
}
