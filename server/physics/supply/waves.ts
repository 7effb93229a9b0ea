/** Waveforms of one cycle, and what is told of them. */

import { doubles } from "../linear/slabs.ts";
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
  row(net: Multiport): Row;
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

/** Its rows are found when they are first asked for. */
class FoundWave implements Wave {
  private ownRow: Row | undefined;
  private otherRow: Row | undefined;
  private otherNet: Multiport | undefined;

  constructor(
    readonly index: number,
    private readonly net: Multiport,
    private readonly find: (net: Multiport) => Row,
    readonly hand: Wave["hand"],
    readonly like: Wave["like"],
  ) {}

  get own(): Row {
    this.ownRow ??= this.find(this.net);
    return this.ownRow;
  }

  row(net: Multiport): Row {
    if (net === this.net) return this.own;
    // Besides its own network it is asked for in one more, that of the tolerances.
    if (this.otherNet !== net) {
      this.otherNet = net;
      this.otherRow = this.find(net);
    }
    return this.otherRow!;
  }
}

/** The waves of an island. */
export class WaveBook {
  readonly waves: Wave[] = [];

  constructor(readonly net: Multiport) {}

  of(find: (net: Multiport) => Row, hand?: Hand, like?: Wave["like"]): Wave {
    const wave = new FoundWave(this.waves.length, this.net, find, hand, like);
    this.waves.push(wave);
    return wave;
  }

  /** Current of a rectifying port. */
  port(port: number): Wave {
    return this.of((net) => {
      const i = doubles(net.np);
      i[port] = 1;
      return { x: doubles(net.nx), u: doubles(net.nu), i };
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

/** What is kept of each wave: rms of what alternates, and the stages where it is highest and lowest. */
const measures = 3;

/** The waves of one record. Averages follow from those of the record; anything else goes through the wave when it is first asked for. */
export class Waves {
  /** Averages of the mains, the states, and the ports' currents. */
  private readonly means: { readonly mains: number; readonly x: Float64Array; readonly i: Float64Array };
  private readonly nx: number;
  private readonly np: number;
  private readonly told: Float64Array;
  private readonly known: Uint8Array;
  private readonly space: Float64Array;

  constructor(
    book: WaveBook,
    private readonly record: CycleRecord,
    private readonly drives: Float64Array,
  ) {
    this.nx = book.net.nx;
    this.np = book.net.np;
    const { weight, mains, x, i, count } = record;
    this.means = {
      mains: average(weight, mains, 1)[0],
      x: average(weight, x, this.nx),
      i: average(weight, i, this.np),
    };
    this.told = doubles(measures * book.waves.length);
    this.known = new Uint8Array(book.waves.length);
    this.space = doubles(count);
  }

  /** Whether the record makes sense. */
  get finite(): boolean {
    const { mains, x, i } = this.means;
    return Number.isFinite(mains) && x.every(Number.isFinite) && i.every(Number.isFinite);
  }

  mean({ own }: Wave): number {
    const { mains, x, i } = this.means;
    let sum = this.fixed(own) + own.u[0] * mains;
    for (let k = 0; k < this.nx; k++) sum += own.x[k] * x[k];
    for (let k = 0; k < this.np; k++) sum += own.i[k] * i[k];
    return sum;
  }

  /** rms without the average. */
  alternating(wave: Wave): number {
    return this.told[this.measured(wave)];
  }

  rms(wave: Wave): number {
    return Math.hypot(this.mean(wave), this.alternating(wave));
  }

  /** The wave at every stage of the record. */
  values({ own }: Wave, into: Float64Array = doubles(this.record.count)): Float64Array {
    const { record, nx, np } = this;
    const { x, u, i } = own;
    const { count } = record;
    const fixed = this.fixed(own);
    const byMains = u[0];
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

  private fixed({ u }: Row): number {
    let fixed = u[1];
    for (let d = 0; d < this.drives.length; d++) fixed += u[2 + d] * this.drives[d];
    return fixed;
  }

  /** At one stage. */
  private at({ own }: Wave, n: number): number {
    const { record, nx, np } = this;
    const { x, u, i } = own;
    let value = this.fixed(own) + u[0] * record.mains[n];
    for (let k = 0; k < nx; k++) value += x[k] * record.x[n * nx + k];
    for (let k = 0; k < np; k++) value += i[k] * record.i[n * np + k];
    return value;
  }

  /** Where the wave's measures stand. */
  private measured(wave: Wave): number {
    const at = measures * wave.index;
    if (this.known[wave.index]) return at;
    this.known[wave.index] = 1;
    const { told } = this;
    if (wave.like) {
      const { by, wave: other } = wave.like;
      const from = this.measured(other);
      told[at] = Math.abs(by) * told[from];
      told[at + 1] = told[from + (by < 0 ? 2 : 1)];
      told[at + 2] = told[from + (by < 0 ? 1 : 2)];
      return at;
    }
    const { weight, count } = this.record;
    const mean = this.mean(wave);
    const values = this.values(wave, this.space);
    let square = 0;
    let highAt = 0;
    let lowAt = 0;
    let high = count > 0 ? values[0] : 0;
    let low = high;
    for (let n = 0; n < count; n++) {
      const v = values[n];
      square += weight[n] * (v - mean) * (v - mean);
      if (v > high) {
        high = v;
        highAt = n;
      } else if (v < low) {
        low = v;
        lowAt = n;
      }
    }
    told[at] = Math.sqrt(square);
    told[at + 1] = highAt;
    told[at + 2] = lowAt;
    return at;
  }

  /** The stage where `sign` times a wave is highest. */
  private crestAt(wave: Wave, sign: 1 | -1): number {
    return this.told[this.measured(wave) + (sign > 0 ? 1 : 2)];
  }

  /**
   * The highest point of `sign` times a waveform, between the points where it was computed: by the parabola through the highest
   * three, unless one side falls off as steeply as a corner does.
   */
  crest(wave: Wave, sign: 1 | -1): number {
    const { time, count } = this.record;
    const at = this.crestAt(wave, sign);
    if (at >= count) return 0;
    const top = sign * this.at(wave, at);
    if (at === 0 || at + 1 >= count) return top;
    const before = top - sign * this.at(wave, at - 1);
    const after = top - sign * this.at(wave, at + 1);
    const bottom = sign * this.at(wave, this.crestAt(wave, sign > 0 ? -1 : 1));
    if (Math.max(before, after) > 0.1 * (top - bottom)) return top;
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
        return Math.max(this.crest(recipe.wave, -1), 0);
      case "swing":
        return recipe.factor * (this.crest(recipe.wave, 1) + this.crest(recipe.wave, -1));
      case "size":
        return recipe.factor * Math.max(this.crest(recipe.wave, 1), this.crest(recipe.wave, -1));
      case "product": {
        const { wave, other, factor } = recipe;
        if (wave === other) return factor * (this.mean(wave) ** 2 + this.alternating(wave) ** 2);
        const { weight, count } = this.record;
        const by = this.values(other);
        const values = this.values(wave, this.space);
        let sum = 0;
        for (let n = 0; n < count; n++) sum += weight[n] * values[n] * by[n];
        return factor * sum;
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
      const out = other ? this.values(other) : doubles(count).fill(1);
      for (let n = 0; n < count; n++) out[n] *= by * weight[n];
      return term(wave, out);
    };
    const peak = (wave: Wave, sign: 1 | -1, by: number): Term => {
      const out = doubles(count);
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
        return this.crest(recipe.wave, -1) > 0 ? [peak(recipe.wave, -1, -1)] : [];
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

/** Weighted averages of each column. */
function average(weight: Float64Array, values: Float64Array, columns: number): Float64Array {
  const out = doubles(columns);
  for (let n = 0, at = 0; n < weight.length; n++) {
    for (let k = 0; k < columns; k++) out[k] += weight[n] * values[at++];
  }
  return out;
}

function combine(net: Multiport, ...parts: readonly (readonly [Wave | undefined, number])[]): Row {
  const x = doubles(net.nx);
  const u = doubles(net.nu);
  const i = doubles(net.np);
  for (const [wave, by] of parts) {
    if (!wave) continue;
    const row = wave.row(net);
    for (let k = 0; k < x.length; k++) x[k] += by * row.x[k];
    for (let k = 0; k < u.length; k++) u[k] += by * row.u[k];
    for (let k = 0; k < i.length; k++) i[k] += by * row.i[k];
  }
  return { x, u, i };
}
