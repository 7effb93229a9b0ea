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

/** Volts over which an electrode just above its cathode begins to collect (emission velocities). */
const FOOT_VOLTS = 0.5;

/** Positive part of an electrode's volts with a rounded foot: zero, with its slope, at and below the cathode. */
export function collecting(volts: number): number {
  return volts > 0 ? (volts * volts) / (volts + FOOT_VOLTS) : 0;
}

/** Derivative of `collecting`. */
export function collectingSlope(volts: number): number {
  if (volts <= 0) return 0;
  const part = FOOT_VOLTS / (volts + FOOT_VOLTS);
  return 1 - part * part;
}
