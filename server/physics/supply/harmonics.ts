/** Harmonics of the mains at many nodes, and what they make together. */

/** By node: volts of the cosine and of the sine. */
export interface Harmonic {
  readonly cosine: Float64Array;
  readonly sine: Float64Array;
}

/** Order up to which they are known. */
export const highest = 16;

/** Where a cycle is looked at. */
const samples = 64;
/** Samples from the beginning to a quarter of the cycle, both included. */
const quarter = samples / 4 + 1;
/** Of one node: cosines and sines of the even orders, then of the odd ones, by sample. */
const sums = new Float64Array(4 * quarter);
const cosines = Float64Array.from({ length: samples }, (_, k) => Math.cos((2 * Math.PI * k) / samples));
const sines = Float64Array.from({ length: samples }, (_, k) => Math.sin((2 * Math.PI * k) / samples));
/** The same by order, as far as a quarter of the cycle. */
const rounds = Array.from({ length: highest + 1 }, (_, order) => ({
  cosine: Float64Array.from({ length: quarter }, (_, k) => cosines[(order * k) % samples]),
  sine: Float64Array.from({ length: quarter }, (_, k) => sines[(order * k) % samples]),
}));

/**
 * Peak to peak and rms of the harmonics together, over a cycle. What a harmonic is at one sample it is, but for its signs, at three
 * more: half a cycle later, and as far before as after the beginning.
 * @param ripple,rms out: by node
 */
export function addUp(
  harmonics: ReadonlyMap<number, Harmonic>,
  ripple: Float64Array,
  rms: Float64Array,
): void {
  const orders = [...harmonics.keys()];
  const waves = [...harmonics.values()];
  for (let n = 0; n < ripple.length; n++) {
    let square = 0;
    for (const { cosine, sine } of waves) square += 0.5 * (cosine[n] * cosine[n] + sine[n] * sine[n]);
    if (!(square > 0)) continue;
    rms[n] = Math.sqrt(square);
    sums.fill(0);
    for (let h = 0; h < orders.length; h++) {
      const c = waves[h].cosine[n];
      const s = waves[h].sine[n];
      const { cosine, sine } = rounds[orders[h]];
      const at = orders[h] % 2 === 0 ? 0 : 2 * quarter;
      for (let k = 0; k < quarter; k++) {
        sums[at + k] += c * cosine[k];
        sums[at + quarter + k] += s * sine[k];
      }
    }
    let high = 0;
    let low = 0;
    let highAt = 0;
    let lowAt = 0;
    for (let k = 0; k < quarter; k++) {
      const cosine = sums[k] + sums[2 * quarter + k];
      const sine = sums[quarter + k] + sums[3 * quarter + k];
      const otherCosine = sums[k] - sums[2 * quarter + k];
      const otherSine = sums[quarter + k] - sums[3 * quarter + k];
      const size = Math.abs(sine);
      const otherSize = Math.abs(otherSine);
      if (cosine + size > high) {
        high = cosine + size;
        highAt = sine > 0 ? k : -k;
      }
      if (cosine - size < low) {
        low = cosine - size;
        lowAt = sine > 0 ? -k : k;
      }
      if (otherCosine + otherSize > high) {
        high = otherCosine + otherSize;
        highAt = samples / 2 + (otherSine > 0 ? k : -k);
      }
      if (otherCosine - otherSize < low) {
        low = otherCosine - otherSize;
        lowAt = samples / 2 + (otherSine > 0 ? -k : k);
      }
    }
    ripple[n] = high - low + beyond(orders, waves, n, highAt) + beyond(orders, waves, n, lowAt);
  }
}

/** How much further out a crest stands than the sample beside it: by the slope and the bend there. */
function beyond(orders: readonly number[], waves: readonly Harmonic[], node: number, at: number): number {
  let slope = 0;
  let bend = 0;
  for (let h = 0; h < orders.length; h++) {
    const order = orders[h];
    const k = (order * (at + samples)) % samples;
    const c = waves[h].cosine[node];
    const s = waves[h].sine[node];
    slope += order * (s * cosines[k] - c * sines[k]);
    bend -= order * order * (c * cosines[k] + s * sines[k]);
  }
  const away = Math.abs(slope / bend);
  return away < (2 * Math.PI) / samples ? 0.5 * away * Math.abs(slope) : 0;
}
