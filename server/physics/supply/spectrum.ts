/** Harmonics of a waveform that was computed at the stages of a cycle's steps. */

import { doubles } from "../linear/slabs.ts";
import { highest } from "./harmonics.ts";
import type { CycleRecord } from "./record.ts";
import { stages } from "./steps.ts";

/** Gauss-Legendre, four points on 0..1. */
const gaussAt = [0.0694318442029737, 0.3300094782075719, 0.6699905217924281, 0.9305681557970263] as const;
const gaussWeight = [0.1739274225687269, 0.3260725774312731, 0.3260725774312731, 0.1739274225687269] as const;

/** When a waveform is looked at, and how much that counts: the same for every waveform of a record. */
export interface Looks {
  /** Seconds after the step's start, as a part of it. */
  readonly cosine: Float64Array;
  readonly sine: Float64Array;
}

/** @param omega of the mains, radians a second */
export function looksAt({ time, count }: CycleRecord, omega: number): Looks {
  const cosine = doubles((count / stages) * gaussAt.length);
  const sine = doubles(cosine.length);
  let start = 0;
  let k = 0;
  for (let n = stages - 1; n < count; n += stages) {
    for (const part of gaussAt) {
      const angle = omega * (start + part * (time[n] - start));
      cosine[k] = Math.cos(angle);
      sine[k++] = Math.sin(angle);
    }
    start = time[n];
  }
  return { cosine, sine };
}

/**
 * Cosine and sine of each harmonic of the mains, interleaved from order nought. The waveform is drawn through each step as the
 * parabola on its start and its stages, since a step may be long against the period of a high harmonic.
 */
export function spectrumOf(
  values: Float64Array,
  { time, weight, count }: CycleRecord,
  { cosine, sine }: Looks,
): Float64Array {
  const out = doubles(2 * (highest + 1));
  if (count === 0) return out;
  const period = time[count - 1];
  // Without its average: over a long step the looks take a high harmonic of that for something, which hundreds of volts make large
  // beside a few millivolts of ripple.
  let mean = 0;
  for (let n = 0; n < count; n++) mean += weight[n] * values[n];
  out[0] = 2 * mean;
  let start = 0;
  let s0 = values[count - 1] - mean;
  let k = 0;
  for (let n = 0; n + 1 < count; n += stages) {
    const end = time[n + 1];
    const share = ((end - start) / period) * 2;
    const s1 = values[n] - mean;
    const s2 = values[n + 1] - mean;
    const bend = (s2 - s0 - 3 * (s1 - s0)) / (1 - 1 / 3);
    const slope = s2 - s0 - bend;
    for (let g = 0; g < gaussAt.length; g++, k++) {
      const part = gaussAt[g];
      const v = (s0 + slope * part + bend * part * part) * gaussWeight[g] * share;
      const c1 = cosine[k];
      const q1 = sine[k];
      // cos and sin of multiples by the angle-sum rule.
      let c = 1;
      let q = 0;
      for (let order = 0; order <= highest; order++) {
        out[2 * order] += v * c;
        out[2 * order + 1] += v * q;
        const next = c * c1 - q * q1;
        q = q * c1 + c * q1;
        c = next;
      }
    }
    start = end;
    s0 = s2;
  }
  return out;
}
