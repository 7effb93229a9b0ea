/** Waveforms of one cycle, and what is told of them. */

import type { Element } from "./elements.ts";
import type { Multiport, Row } from "./multiport.ts";
import type { CycleRecord } from "./record.ts";

/** A quantity over the cycle. */
export interface Wave {
  readonly values: Float64Array;
  /** The same as a row of a network: of the island's own, or of one with more inputs. */
  readonly row: (net: Multiport) => Row;
  readonly mean: number;
  readonly rms: number;
  readonly high: number;
  readonly low: number;
  /** Stages where it is highest and lowest. */
  readonly highAt: number;
  readonly lowAt: number;
  /** Whose current it is, where the part's own value has a direct hand in it: as the value rises. */
  readonly own?: { readonly element: Element; readonly sign: 1 | -1 };
}

/** How a figure comes from waves. `factor` multiplies it. */
export type Recipe =
  | {
      readonly kind: "mean" | "rms" | "high" | "low" | "swing" | "size";
      readonly wave: Wave;
      readonly factor: number;
    }
  /** Average of a product. */
  | { readonly kind: "product"; readonly wave: Wave; readonly other: Wave; readonly factor: number }
  /** rms of one by rms of the other. */
  | { readonly kind: "rms product"; readonly wave: Wave; readonly other: Wave; readonly factor: number }
  /** The sum of others. */
  | { readonly kind: "sum"; readonly of: readonly Recipe[] }
  | { readonly kind: "fixed"; readonly value: number };

/** One term of a figure's first variation: the row weighted over the cycle. */
export interface Term {
  readonly wave: Wave;
  readonly weight: Float64Array;
}

/** Waves of one record. */
export class Waves {
  private readonly arena: Float64Array;
  private used = 0;

  /**
   * @param room how many waves there may be in one piece of memory
   */
  constructor(
    private readonly record: CycleRecord,
    private readonly net: Multiport,
    private readonly drives: Float64Array,
    room: number,
  ) {
    this.arena = new Float64Array(room * record.count);
  }

  private values(): Float64Array {
    const { count } = this.record;
    if ((this.used + 1) * count > this.arena.length) return new Float64Array(count);
    return this.arena.subarray(this.used * count, ++this.used * count);
  }

  private measure(values: Float64Array, row: Wave["row"], own?: Wave["own"]): Wave {
    const { weight, count } = this.record;
    let mean = 0;
    let square = 0;
    let highAt = 0;
    let lowAt = 0;
    let high = count > 0 ? values[0] : 0;
    let low = high;
    for (let n = 0; n < count; n++) {
      const v = values[n];
      const part = weight[n] * v;
      mean += part;
      square += part * v;
      if (v > high) {
        high = v;
        highAt = n;
      } else if (v < low) {
        low = v;
        lowAt = n;
      }
    }
    return { values, row, mean, rms: Math.sqrt(Math.max(square, 0)), high, low, highAt, lowAt, own };
  }

  of(row: Wave["row"], own?: Wave["own"]): Wave {
    const { x, u, i } = row(this.net);
    const { record } = this;
    const { count } = record;
    const nx = x.length;
    const np = i.length;
    const values = this.values();
    let fixed = u[1];
    for (let d = 0; d < this.drives.length; d++) fixed += u[2 + d] * this.drives[d];
    const byMains = u[0];
    for (let n = 0; n < count; n++) values[n] = fixed + byMains * record.mains[n];
    for (let k = 0; k < nx; k++) {
      const by = x[k];
      if (by !== 0) for (let n = 0; n < count; n++) values[n] += by * record.x[n * nx + k];
    }
    for (let k = 0; k < np; k++) {
      const by = i[k];
      if (by !== 0) for (let n = 0; n < count; n++) values[n] += by * record.i[n * np + k];
    }
    return this.measure(values, row, own);
  }

  /** Current of a rectifying port. */
  port(port: number): Wave {
    const { record } = this;
    const np = this.net.np;
    const values = this.values();
    for (let n = 0; n < record.count; n++) values[n] = record.i[n * np + port];
    return this.measure(values, (net) => {
      const i = new Float64Array(net.np);
      i[port] = 1;
      return { x: new Float64Array(net.nx), u: new Float64Array(net.nu), i };
    });
  }

  /** a - b; either may be missing. */
  difference(a: Wave | undefined, b: Wave | undefined): Wave {
    if (a && !b) return a;
    const values = this.values();
    const { count } = this.record;
    if (a) values.set(a.values);
    else values.fill(0);
    if (b) for (let n = 0; n < count; n++) values[n] -= b.values[n];
    return this.measure(values, (net) => combine(net, [a, 1], [b, -1]));
  }

  sum(waves: readonly Wave[]): Wave {
    if (waves.length === 1) return waves[0];
    const values = this.values().fill(0);
    for (const wave of waves) for (let n = 0; n < this.record.count; n++) values[n] += wave.values[n];
    return this.measure(values, (net) => combine(net, ...waves.map((wave) => [wave, 1] as const)));
  }

  scaled(wave: Wave, by: number, own?: Wave["own"]): Wave {
    const values = this.values();
    for (let n = 0; n < this.record.count; n++) values[n] = wave.values[n] * by;
    const up = wave.high * by;
    const down = wave.low * by;
    return {
      values,
      row: (net) => combine(net, [wave, by]),
      mean: wave.mean * by,
      rms: wave.rms * Math.abs(by),
      high: Math.max(up, down),
      low: Math.min(up, down),
      highAt: by < 0 ? wave.lowAt : wave.highAt,
      lowAt: by < 0 ? wave.highAt : wave.lowAt,
      own,
    };
  }

  /**
   * The highest point of `sign` times a waveform, between the points where it was computed: by the parabola through the highest
   * three, unless one side falls off as steeply as a corner does.
   */
  crest(wave: Wave, sign: 1 | -1): number {
    const { time, count } = this.record;
    const { values } = wave;
    const at = sign > 0 ? wave.highAt : wave.lowAt;
    const top = sign * (values[at] ?? 0);
    if (at === 0 || at + 1 >= count) return top;
    const before = top - sign * values[at - 1];
    const after = top - sign * values[at + 1];
    if (Math.max(before, after) > 0.1 * (wave.high - wave.low)) return top;
    const s0 = time[at - 1] - time[at];
    const s1 = time[at + 1] - time[at];
    const d0 = -before / s0;
    const d1 = -after / s1;
    const curve = (d1 - d0) / (s1 - s0);
    const slope = d0 - curve * s0;
    return curve < 0 ? top - (slope * slope) / (4 * curve) : top;
  }

  value(recipe: Recipe): number {
    switch (recipe.kind) {
      case "mean":
        return recipe.factor * recipe.wave.mean;
      case "rms":
        return recipe.factor * recipe.wave.rms;
      case "high":
        return recipe.factor * this.crest(recipe.wave, 1);
      case "low":
        return -recipe.factor * this.crest(recipe.wave, -1);
      case "swing":
        return recipe.factor * (this.crest(recipe.wave, 1) + this.crest(recipe.wave, -1));
      case "size":
        return recipe.factor * Math.max(this.crest(recipe.wave, 1), this.crest(recipe.wave, -1));
      case "product": {
        const { weight, count } = this.record;
        let s = 0;
        for (let n = 0; n < count; n++) s += weight[n] * recipe.wave.values[n] * recipe.other.values[n];
        return recipe.factor * s;
      }
      case "rms product":
        return recipe.factor * recipe.wave.rms * recipe.other.rms;
      case "sum":
        return recipe.of.reduce((sum, part) => sum + this.value(part), 0);
      case "fixed":
        return recipe.value;
    }
  }

  /** The first variation of a figure. */
  terms(recipe: Recipe): Term[] {
    const { weight, count } = this.record;
    const weighted = (wave: Wave, of: (n: number) => number): Term => {
      const out = new Float64Array(count);
      for (let n = 0; n < count; n++) out[n] = of(n);
      return { wave, weight: out };
    };
    const peak = (wave: Wave, sign: 1 | -1, by: number): Term => {
      const out = new Float64Array(count);
      if (count > 0) out[sign > 0 ? wave.highAt : wave.lowAt] = by;
      return { wave, weight: out };
    };
    switch (recipe.kind) {
      case "mean":
        return [weighted(recipe.wave, (n) => recipe.factor * weight[n])];
      case "rms": {
        const { wave, factor } = recipe;
        if (!(wave.rms > 0)) return [];
        return [weighted(wave, (n) => (factor * weight[n] * wave.values[n]) / wave.rms)];
      }
      case "high":
        return [peak(recipe.wave, 1, recipe.factor)];
      case "low":
        return [peak(recipe.wave, -1, recipe.factor)];
      case "swing":
        return [peak(recipe.wave, 1, recipe.factor), peak(recipe.wave, -1, -recipe.factor)];
      case "size": {
        const up = this.crest(recipe.wave, 1) >= this.crest(recipe.wave, -1);
        return [peak(recipe.wave, up ? 1 : -1, up ? recipe.factor : -recipe.factor)];
      }
      case "product": {
        const { wave, other, factor } = recipe;
        return [
          weighted(wave, (n) => factor * weight[n] * other.values[n]),
          weighted(other, (n) => factor * weight[n] * wave.values[n]),
        ];
      }
      case "rms product": {
        const { wave, other, factor } = recipe;
        if (!(wave.rms > 0) || !(other.rms > 0)) return [];
        return [
          weighted(wave, (n) => (factor * other.rms * weight[n] * wave.values[n]) / wave.rms),
          weighted(other, (n) => (factor * wave.rms * weight[n] * other.values[n]) / other.rms),
        ];
      }
      case "sum":
        return recipe.of.flatMap((part) => this.terms(part));
      case "fixed":
        return [];
    }
  }
}

function combine(net: Multiport, ...parts: readonly (readonly [Wave | undefined, number])[]): Row {
  const x = new Float64Array(net.nx);
  const u = new Float64Array(net.nu);
  const i = new Float64Array(net.np);
  for (const [wave, by] of parts) {
    if (!wave) continue;
    const row = wave.row(net);
    for (let k = 0; k < x.length; k++) x[k] += by * row.x[k];
    for (let k = 0; k < u.length; k++) u[k] += by * row.u[k];
    for (let k = 0; k < i.length; k++) i[k] += by * row.i[k];
  }
  return { x, u, i };
}
