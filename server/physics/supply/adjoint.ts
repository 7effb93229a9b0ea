/**
 * First variations of a cycle's figures: how a reading or an average moves with each value inside the island and with each
 * drive, from one backward pass through the cycle that was computed, not by solving again for every value.
 *
 * A value that moves is a current source beside it (a conductance: the current it already carries; a capacitor likewise), so that
 * the network reduced once, with those sources as further inputs, serves them all. The pass is the exact transpose of the
 * integration's steps, closed on itself round the cycle.
 */
import { solveDense } from "../linear/dense.ts";
import { copyOf, doubles, integers } from "../linear/slabs.ts";
import type { Cycle } from "./cycle.ts";
import type { Element } from "./elements.ts";
import { type CurrentSource, type Multiport, reduce } from "./multiport.ts";
import type { IslandNetwork, Placed } from "./network.ts";
import type { CycleRecord } from "./record.ts";
import { stages } from "./steps.ts";
import type { Term } from "./waves.ts";

/** A toleranced value: the elements that move together. */
export interface Value {
  readonly reference: string;
  readonly tolerance: number;
  readonly places: readonly Placed[];
}

/** Of one figure: by each drive, and by each value per d(ln value). */
export interface Variation {
  readonly drives: Float64Array;
  readonly values: Float64Array;
}

/** The network with a source beside each value; the same for every level. */
export interface Extended {
  readonly values: readonly Value[];
  readonly net: Multiport;
  /** Input of each placed element, from the first after the drives. */
  readonly input: ReadonlyMap<Placed, number>;
}

export function extend(network: IslandNetwork, values: readonly Value[]): Extended {
  const input = new Map<Placed, number>();
  const sources: CurrentSource[] = [];
  for (const { places } of values) {
    for (const place of places) {
      if (place.as === "branch") {
        const { a, b, core, turns } = place.branch;
        input.set(place, sources.length);
        sources.push({ a, b, core, turns });
      } else if (place.as === "capacitor") {
        const { a, b } = network.network.capacitors[place.index];
        input.set(place, sources.length);
        sources.push({ a, b });
      }
    }
  }
  return { values, net: reduce({ ...network.network, sources }), input };
}

export class Adjoint {
  private readonly nx: number;
  private readonly np: number;
  /** Slopes of the ports' laws at each stage. */
  private readonly g: Float64Array;
  private readonly H: readonly Float64Array[];

  /**
   * @param record  the cycle at the solution
   * @param carried of each placed element at each stage: amperes of a branch, capacitor or port, the rate of a choke's current
   */
  constructor(
    private readonly extended: Extended,
    cycle: Cycle,
    private readonly record: CycleRecord,
    private readonly drives: number,
    private readonly carried: (place: Placed) => Float64Array,
  ) {
    this.nx = extended.net.nx;
    this.np = extended.net.np;
    this.g = cycle.slopesAlong(record);
    const known = new Map<Float64Array, Float64Array>();
    this.H = record.stretches.map((stretch) => {
      const H = known.get(stretch.Y) ?? cycle.rates(stretch);
      known.set(stretch.Y, H);
      return H;
    });
  }

  /** @param terms of one figure */
  variation(terms: readonly Term[]): Variation {
    const { nx, np, record, extended, drives } = this;
    const { net, values, input } = extended;
    const { count } = record;
    const inputs = net.nu - 2;
    const { wx, wi, byInput, eta, kappa, mu } = clearRoom(count, nx, np, inputs);

    // The figure's own weights on states, currents and inputs at each stage.
    for (const { wave, weight } of terms) {
      const { x, u, i } = wave.row(net);
      weigh(wx, x, weight, count, nx);
      weigh(wi, i, weight, count, np);
      for (let k = 0; k < inputs; k++) {
        const by = u[2 + k];
        if (by === 0) continue;
        const from = k * count;
        for (let n = 0; n < count; n++) byInput[from + n] += weight[n] * by;
      }
    }

    // Backward: once from nothing to close the cycle on itself, once for good.
    const closing = this.backward(doubles(nx), wx, wi);
    const matrix = doubles(nx * nx);
    for (let r = 0; r < nx; r++) {
      for (let c = 0; c < nx; c++) {
        matrix[r * nx + c] = (r === c ? 1 : 0) - record.endByStart[c * nx + r];
      }
    }
    solveDense(matrix, closing, nx, 1);
    this.backward(closing, wx, wi, { eta, kappa, mu });

    // What each input does at each stage: through the states' rates, the ports' open volts, the figure itself.
    const { B, Vu, nu } = net;
    for (let k = 0; k < inputs; k++) {
      const from = k * count;
      for (let r = 0; r < nx; r++) {
        const by = B[r * nu + 2 + k];
        if (by !== 0) for (let n = 0; n < count; n++) byInput[from + n] += mu[n * nx + r] * by;
      }
      for (let p = 0; p < np; p++) {
        const by = Vu[p * nu + 2 + k];
        if (by !== 0) for (let n = 0; n < count; n++) byInput[from + n] += eta[n * np + p] * by;
      }
    }
    const driven = doubles(drives);
    for (let k = 0; k < drives; k++)
      for (let n = k * count; n < (k + 1) * count; n++) driven[k] += byInput[n];
    const out = doubles(values.length);
    values.forEach(({ places }, v) => {
      let sum = 0;
      for (const place of places) {
        const at = input.get(place);
        const carried = this.carried(place);
        if (at !== undefined) {
          // More ohms: a current that no longer flows. More farads: one that flows besides.
          const sign = place.as === "capacitor" ? -1 : 1;
          const from = (drives + at) * count;
          for (let n = 0; n < count; n++) sum += sign * byInput[from + n] * carried[n];
        } else if (place.as === "choke") {
          const r = net.chargeStates + place.index;
          for (let n = 0; n < count; n++) sum -= mu[n * nx + r] * carried[n];
        } else if (place.as === "port") {
          for (let n = 0; n < count; n++) sum += kappa[n * np + place.index] * carried[n];
        }
        sum += ownHand(terms, place.element, count);
      }
      out[v] = sum;
    });
    return { drives: driven, values: out };
  }

  /**
   * The transpose of every step from the last to the first.
   * @param last what the state at the cycle's end weighs
   * @param told out, nought before: weights of the ports' open volts, of their currents, of the states' rates, by stage
   * @returns what the state at the cycle's start weighs
   */
  private backward(
    last: Float64Array,
    wx: Float64Array,
    wi: Float64Array,
    told?: { readonly eta: Float64Array; readonly kappa: Float64Array; readonly mu: Float64Array },
  ): Float64Array {
    const { nx, np, g, record, drives } = this;
    const { stretches } = record;
    const { Vx } = this.extended.net;
    const S = stages;
    const sp = S * np;
    const sn = S * nx;
    const portsAt = nx + 1 + drives + S;
    const width = portsAt + sp;
    let lambda = copyOf(last);
    let next = doubles(nx);
    const stage = doubles(sn);
    const source = doubles(sp);
    const open = doubles(sp);
    const matrix = doubles(sp * sp);
    const active = integers(sp);
    let n = record.count / S;
    for (let piece = stretches.length - 1; piece >= 0; piece--) {
      const { Y, V, count } = stretches[piece];
      const H = this.H[piece];
      for (let k = 0; k < count; k++) {
        n--;
        const at = n * S;
        // Weights of the stage states; the last is the next step's start.
        for (let r = 0; r < sn; r++) stage[r] = wx[at * nx + r];
        for (let r = 0; r < nx; r++) stage[(S - 1) * nx + r] += lambda[r];
        let na = 0;
        for (let r = 0; r < sp; r++) if (g[at * np + r] > 0) active[na++] = r;
        for (let a = 0; a < na; a++) {
          const r = active[a];
          let s = wi[at * np + r];
          for (let m = 0; m < sn; m++) s += Y[m * width + portsAt + r] * stage[m];
          source[a] = s;
          for (let b = 0; b < na; b++) {
            const q = active[b];
            // (1 - g V)^T kappa = source
            matrix[a * na + b] = (a === b ? 1 : 0) - g[at * np + q] * V[q * width + portsAt + r];
          }
        }
        if (na > 0) solveDense(matrix, source, na, 1);
        for (let a = 0; a < na; a++) open[a] = g[at * np + active[a]] * source[a];
        for (let c = 0; c < nx; c++) {
          let s = 0;
          for (let m = 0; m < sn; m++) s += Y[m * width + c] * stage[m];
          for (let a = 0; a < na; a++) s += V[active[a] * width + c] * open[a];
          next[c] = s;
        }
        const swap = lambda;
        lambda = next;
        next = swap;
        if (!told) continue;
        const { eta, kappa, mu } = told;
        // The states' rates: through the stage states, and through the ports by them.
        for (let a = 0; a < na; a++) {
          const r = active[a];
          kappa[at * np + r] = source[a];
          eta[at * np + r] = open[a];
          const j = r < np ? 0 : 1;
          const p = r - j * np;
          for (let m = 0; m < nx; m++) stage[j * nx + m] += Vx[p * nx + m] * open[a];
        }
        for (let c = 0; c < sn; c++) {
          let s = 0;
          for (let m = 0; m < sn; m++) s += H[m * sn + c] * stage[m];
          mu[at * nx + c] = s;
        }
      }
    }
    return lambda;
  }
}

/** Room for one variation, used again by the next: a check asks for dozens. */
const room = {
  /** Weights of a figure on states and currents, by stage. */
  wx: new Float64Array(0),
  wi: new Float64Array(0),
  /** What each input does: by input, then stage. */
  byInput: new Float64Array(0),
  /** As `backward` tells them. */
  eta: new Float64Array(0),
  kappa: new Float64Array(0),
  mu: new Float64Array(0),
};

/** All nought, and at least as long as asked for. */
function clearRoom(count: number, nx: number, np: number, inputs: number): typeof room {
  room.wx = cleared(room.wx, count * nx);
  room.wi = cleared(room.wi, count * np);
  room.byInput = cleared(room.byInput, count * inputs);
  room.eta = cleared(room.eta, count * np);
  room.kappa = cleared(room.kappa, count * np);
  room.mu = cleared(room.mu, count * nx);
  return room;
}

function cleared(values: Float64Array, length: number): Float64Array<ArrayBuffer> {
  return values.length < length ? doubles(length) : (values.fill(0, 0, length) as Float64Array<ArrayBuffer>);
}

/** into[n * width + k] += weight[n] * row[k] */
function weigh(
  into: Float64Array,
  row: Float64Array,
  weight: Float64Array,
  count: number,
  width: number,
): void {
  for (let k = 0; k < width; k++) {
    const by = row[k];
    if (by !== 0) for (let n = 0; n < count; n++) into[n * width + k] += weight[n] * by;
  }
}

/** Where the figure is made of the moving part's own current, the value has a direct hand in it. */
function ownHand(terms: readonly Term[], element: Element, count: number): number {
  let s = 0;
  for (const { wave, weight, values } of terms) {
    if (!values || wave.hand?.element !== element) continue;
    for (let n = 0; n < count; n++) s += wave.hand.sign * weight[n] * values[n];
  }
  return s;
}
