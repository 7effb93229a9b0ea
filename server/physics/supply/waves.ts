/** Waveforms of one cycle, and what is told of them. */

import type { Element } from "./elements.ts";
import type { Multiport, Row } from "./multiport.ts";
import type { CycleRecord } from "./record.ts";

/** A quantity over the cycle, as it is known before any cycle has been gone through: the same for every level. */
export interface Wave {
  /** Place among its island's waves. */
  readonly index: number;
  /** As a row of the island's own network. */
  readonly own: Row;
  /** As a row of a network: of the island's own, or of one with more inputs. */
  readonly row: (net: Multiport) => Row;
  /** Where it is another one times a factor. */
  readonly like?: { readonly wave: Wave; readonly by: number };
  /** Whose current it is, where the part's own value has a direct hand in it: as the value rises. */
  readonly hand?: Hand;
}

interface Hand {
  readonly element: Element;
  readonly sign: 1 | -1;
}

/** How a figure comes from waves. `factor` multiplies it. */
export type Recipe =
  | {
      readonly kind: "mean" | "rms" | "alternating rms" | "high" | "swing" | "size";
      readonly wave: Wave;
      readonly factor: number;
    }
  /** How far it goes below nought. */
  | { readonly kind: "inverse"; readonly wave: Wave }
  /** Average of a product. */
  | { readonly kind: "product"; readonly wave: Wave; readonly other: Wave; readonly factor: number }
  /** rms of one by rms of the other. */
  | { readonly kind: "rms product"; readonly wave: Wave; readonly other: Wave; readonly factor: number }
  /** The same of that with the most rms. */
  | { readonly kind: "busiest"; readonly of: "rms" | "size"; readonly waves: readonly Wave[] }
  /** The sum of others. */
  | { readonly kind: "sum"; readonly of: readonly Recipe[] }
  | { readonly kind: "fixed"; readonly value: number };

/** One term of a figure's first variation: the row weighted over the cycle. */
export interface Term {
  readonly wave: Wave;
  readonly weight: Float64Array;
  /** The wave itself, where a part's own value has a direct hand in it. */
  readonly values?: Float64Array;
}

/** The waves of an island. */
export class WaveBook {
  readonly waves: Wave[] = [];

  constructor(private readonly net: Multiport) {}

  of(find: Wave["row"], hand?: Hand, like?: Wave["like"]): Wave {
    const own = find(this.net);
    // Besides its own network it is asked for in one more, that of the tolerances.
    let other: { readonly net: Multiport; readonly row: Row } | undefined;
    const row = (net: Multiport): Row => {
      if (net === this.net) return own;
      if (other?.net !== net) other = { net, row: find(net) };
      return other.row;
    };
    const wave = { index: this.waves.length, own, row, hand, like };
    this.waves.push(wave);
    return wave;
  }

  /** Current of a rectifying port. */
  port(port: number): Wave {
    return this.of((net) => {
      const i = new Float64Array(net.np);
      i[port] = 1;
      return { x: new Float64Array(net.nx), u: new Float64Array(net.nu), i };
    });
  }

  /** a - b; either may be missing. */
  difference(a: Wave | undefined, b: Wave | undefined): Wave {
    if (a && !b) return a;
    return this.of((net) => combine(net, [a, 1], [b, -1]));
  }

  sum(waves: readonly Wave[]): Wave {
    if (waves.length === 1) return waves[0];
    return this.of((net) => combine(net, ...waves.map((wave) => [wave, 1] as const)));
  }

  scaled(wave: Wave, by: number, hand?: Hand): Wave {
    return this.of((net) => combine(net, [wave, by]), hand, { wave, by });
  }
}

/** What is kept of each wave: average, rms, highest and lowest, and the stages where it is so. */
const measures = 6;

/** The waves of one record. Each is gone through when something of it is first asked for. */
export class Waves {
  private readonly told: Float64Array;
  private readonly known: Uint8Array;
  private readonly space: Float64Array;

  constructor(
    book: WaveBook,
    private readonly record: CycleRecord,
    private readonly drives: Float64Array,
  ) {
    this.told = new Float64Array(measures * book.waves.length);
    this.known = new Uint8Array(book.waves.length);
    this.space = new Float64Array(record.count);
  }

  mean(wave: Wave): number {
    return this.told[this.measured(wave)];
  }
  rms(wave: Wave): number {
    return this.told[this.measured(wave) + 1];
  }
  /** rms without the average. */
  alternating(wave: Wave): number {
    return Math.sqrt(Math.max(this.rms(wave) ** 2 - this.mean(wave) ** 2, 0));
  }
  private high(wave: Wave): number {
    return this.told[this.measured(wave) + 2];
  }
  private low(wave: Wave): number {
    return this.told[this.measured(wave) + 3];
  }

  /** The wave at every stage of the record. */
  values(wave: Wave, into: Float64Array = new Float64Array(this.record.count)): Float64Array {
    const { x, i } = wave.own;
    const { record } = this;
    const { count } = record;
    const nx = x.length;
    const np = i.length;
    const fixed = this.fixed(wave);
    const byMains = wave.own.u[0];
    if (byMains === 0) into.fill(fixed);
    else for (let n = 0; n < count; n++) into[n] = fixed + byMains * record.mains[n];
    for (let k = 0; k < nx; k++) {
      const by = x[k];
      if (by !== 0) for (let n = 0; n < count; n++) into[n] += by * record.x[n * nx + k];
    }
    for (let k = 0; k < np; k++) {
      const by = i[k];
      if (by !== 0) for (let n = 0; n < count; n++) into[n] += by * record.i[n * np + k];
    }
    return into;
  }

  private fixed({ own: { u } }: Wave): number {
    let fixed = u[1];
    for (let d = 0; d < this.drives.length; d++) fixed += u[2 + d] * this.drives[d];
    return fixed;
  }

  /** At one stage. */
  private at(wave: Wave, n: number): number {
    const { x, u, i } = wave.own;
    const { record } = this;
    let value = this.fixed(wave) + u[0] * record.mains[n];
    for (let k = 0; k < x.length; k++) value += x[k] * record.x[n * x.length + k];
    for (let k = 0; k < i.length; k++) value += i[k] * record.i[n * i.length + k];
    return value;
  }

  /** Where the wave's measures stand. */
  private measured(wave: Wave): number {
    const at = measures * wave.index;
    if (this.known[wave.index]) return at;
    this.known[wave.index] = 1;
    const { told } = this;
    if (wave.like) {
      const { by } = wave.like;
      const from = this.measured(wave.like.wave);
      const [high, low, highAt, lowAt] = by < 0 ? [3, 2, 5, 4] : [2, 3, 4, 5];
      told[at] = by * told[from];
      told[at + 1] = Math.abs(by) * told[from + 1];
      told[at + 2] = by * told[from + high];
      told[at + 3] = by * told[from + low];
      told[at + 4] = told[from + highAt];
      told[at + 5] = told[from + lowAt];
      return at;
    }
    const { weight, count } = this.record;
    const values = this.values(wave, this.space);
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
    told[at] = mean;
    told[at + 1] = Math.sqrt(Math.max(square, 0));
    told[at + 2] = high;
    told[at + 3] = low;
    told[at + 4] = highAt;
    told[at + 5] = lowAt;
    return at;
  }

  /** The stage where `sign` times a wave is highest. */
  private crestAt(wave: Wave, sign: 1 | -1): number {
    return this.told[this.measured(wave) + (sign > 0 ? 4 : 5)];
  }

  /**
   * The highest point of `sign` times a waveform, between the points where it was computed: by the parabola through the highest
   * three, unless one side falls off as steeply as a corner does.
   */
  crest(wave: Wave, sign: 1 | -1): number {
    const { time, count } = this.record;
    const at = this.crestAt(wave, sign);
    const top = sign > 0 ? this.high(wave) : -this.low(wave);
    if (at === 0 || at + 1 >= count) return top;
    const before = top - sign * this.at(wave, at - 1);
    const after = top - sign * this.at(wave, at + 1);
    if (Math.max(before, after) > 0.1 * (this.high(wave) - this.low(wave))) return top;
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
        return recipe.factor * this.mean(recipe.wave);
      case "rms":
        return recipe.factor * this.rms(recipe.wave);
      case "alternating rms":
        return recipe.factor * this.alternating(recipe.wave);
      case "high":
        return recipe.factor * this.crest(recipe.wave, 1);
      case "inverse":
        return this.low(recipe.wave) < 0 ? this.crest(recipe.wave, -1) : 0;
      case "swing":
        return recipe.factor * (this.crest(recipe.wave, 1) + this.crest(recipe.wave, -1));
      case "size":
        return recipe.factor * Math.max(this.crest(recipe.wave, 1), this.crest(recipe.wave, -1));
      case "product": {
        const { wave, other, factor } = recipe;
        if (wave === other) return factor * this.rms(wave) ** 2;
        const { weight, count } = this.record;
        const by = this.values(other);
        const values = this.values(wave, this.space);
        let s = 0;
        for (let n = 0; n < count; n++) s += weight[n] * values[n] * by[n];
        return factor * s;
      }
      case "rms product":
        return recipe.factor * this.rms(recipe.wave) * this.rms(recipe.other);
      case "busiest":
        return this.value({ kind: recipe.of, wave: this.busiest(recipe.waves), factor: 1 });
      case "sum":
        return recipe.of.reduce((sum, part) => sum + this.value(part), 0);
      case "fixed":
        return recipe.value;
    }
  }

  private busiest(waves: readonly Wave[]): Wave {
    return waves.reduce((best, wave) => (this.rms(wave) > this.rms(best) ? wave : best));
  }

  /** The first variation of a figure. */
  terms(recipe: Recipe): Term[] {
    const { weight, count } = this.record;
    const term = (wave: Wave, byStage: Float64Array): Term => ({
      wave,
      weight: byStage,
      values: wave.hand && this.values(wave),
    });
    const weighted = (wave: Wave, by: number, other?: Wave): Term => {
      const out = other ? this.values(other) : new Float64Array(count).fill(1);
      for (let n = 0; n < count; n++) out[n] *= by * weight[n];
      return term(wave, out);
    };
    const peak = (wave: Wave, sign: 1 | -1, by: number): Term => {
      const out = new Float64Array(count);
      if (count > 0) out[this.crestAt(wave, sign)] = by;
      return term(wave, out);
    };
    switch (recipe.kind) {
      case "mean":
        return [weighted(recipe.wave, recipe.factor)];
      case "rms": {
        const { wave, factor } = recipe;
        const rms = this.rms(wave);
        return rms > 0 ? [weighted(wave, factor / rms, wave)] : [];
      }
      case "busiest":
        return this.terms({ kind: recipe.of, wave: this.busiest(recipe.waves), factor: 1 });
      case "high":
        return [peak(recipe.wave, 1, recipe.factor)];
      case "inverse":
        return this.low(recipe.wave) < 0 ? [peak(recipe.wave, -1, -1)] : [];
      case "swing":
        return [peak(recipe.wave, 1, recipe.factor), peak(recipe.wave, -1, -recipe.factor)];
      case "size": {
        const up = this.crest(recipe.wave, 1) >= this.crest(recipe.wave, -1);
        return [peak(recipe.wave, up ? 1 : -1, up ? recipe.factor : -recipe.factor)];
      }
      case "product": {
        const { wave, other, factor } = recipe;
        return [weighted(wave, factor, other), weighted(other, factor, wave)];
      }
      case "rms product": {
        const { wave, other, factor } = recipe;
        const rms = this.rms(wave);
        const otherRms = this.rms(other);
        if (!(rms > 0) || !(otherRms > 0)) return [];
        return [
          weighted(wave, (factor * otherRms) / rms, wave),
          weighted(other, (factor * rms) / otherRms, other),
        ];
      }
      case "sum":
        return recipe.of.flatMap((part) => this.terms(part));
      // A snubber's is told without a band.
      case "alternating rms":
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
