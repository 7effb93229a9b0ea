/** When rectifiers start and stop conducting within a cycle. */
import { solveDense } from "../linear/dense.ts";
import { doubles } from "../linear/slabs.ts";
import type { Multiport } from "./multiport.ts";
import type { Port } from "./ports.ts";
import type { Passed } from "./record.ts";
import { stages } from "./steps.ts";

export interface Event {
  readonly time: number;
  readonly port: number;
  readonly on: boolean;
  /** How much sooner than within a small part of the cycle the current is up that begins here; 1 where it takes longer. */
  readonly abrupt: number;
}

/** A current that is up within less than this part of the cycle is abrupt. */
const abruptPart = 1 / 400;
const mostAbrupt = 10;

/** Finds the events of a sweep. */
export class Events {
  constructor(
    private readonly net: Multiport,
    private readonly ports: readonly Port[],
    private readonly omega: number,
  ) {}

  /**
   * When each port starts and stops conducting, from the last cycle. What is followed is the port's open volts, drawn on into
   * conduction as volts plus amperes times the resistance in its way: smooth through the event, where the port's own volts
   * and current each have a corner.
   */
  of(sweep: Passed, peak: number, drives: Float64Array): readonly Event[] {
    const found: Event[] = [];
    const { np } = this.net;
    const { steps, v, i } = sweep;
    if (steps === 0) return found;
    for (let p = 0; p < np; p++) {
      const knee = this.ports[p].knee;
      const threshold = this.threshold(sweep, p);
      let n = 0;
      let at = steps * stages - 1;
      for (const piece of sweep.stretches) {
        for (let k = 0; k < piece.count; k++, n++) {
          const end = n * stages + stages - 1;
          const was = i[at * np + p] > threshold;
          const is = i[end * np + p] > threshold;
          if (was !== is) {
            const ohms = this.pathOhms(sweep, p, was ? at : end);
            const open = (stage: number) => v[stage * np + p] - knee + ohms * i[stage * np + p];
            const part =
              (is
                ? this.opening(sweep, p, n, at, piece.start + k * piece.step, piece.step, peak, drives)
                : this.ending(sweep, p, n, ohms, piece.step)) ??
              crossing(open(at), open(n * stages), open(end));
            const time = piece.start + (k + part) * piece.step;
            found.push({ time, port: p, on: is, abrupt: is ? this.abrupt(p) : 1 });
          }
          at = end;
        }
      }
    }
    return found;
  }

  /** By the resistance in a port's way and what its current charges. */
  private abrupt(port: number): number {
    const { nx, np, Vx, E, Z } = this.net;
    let perFarad = 0;
    for (let k = 0; k < nx; k++) perFarad -= Vx[port * nx + k] * E[k * np + port];
    const ohms = Z[port * np + port];
    // A floating winding's port sees its leakage alone: it is its loop that counts, which is another matter.
    if (!(perFarad > 0) || ohms > 1e5) return 1;
    const seconds = (abruptPart * 2 * Math.PI) / this.omega;
    return Math.min(Math.max(1, (seconds * perFarad) / ohms), mostAbrupt);
  }

  /** Current from which a port is taken to conduct: a little part of its largest. */
  threshold({ steps, i }: Passed, port: number): number {
    const { np } = this.net;
    let most = 0;
    for (let k = port, end = steps * stages * np; k < end; k += np) if (i[k] > most) most = i[k];
    return Math.max(1e-4 * most, 1e-9);
  }

  /**
   * When a blocked port opens within a step, as a part of it: from its volts at the step's start, their slope, and the mains as they
   * go on, as if nothing were to open. Undefined where that says nothing.
   */
  private opening(
    sweep: Passed,
    port: number,
    n: number,
    stageBefore: number,
    time: number,
    step: number,
    peak: number,
    drives: Float64Array,
  ): number | undefined {
    const { omega } = this;
    const { nx, np, A, B, E, Vx, Vu, Z, nu } = this.net;
    const { before, i } = sweep;
    const nd = drives.length;
    const vm = peak * Math.sin(omega * time);
    const end = n * stages + stages - 1;
    // Ports in series round a floating winding share its volts by their leakages alone: it is their loop that opens.
    const loop = [port];
    for (let q = 0; q < np; q++) {
      if (q === port) continue;
      const own = Z[port * np + port];
      const both = own + Z[q * np + q] + Z[port * np + q] + Z[q * np + port];
      const threshold = this.threshold(sweep, q);
      const opens = i[stageBefore * np + q] <= threshold && i[end * np + q] > threshold;
      if (own > 1e5 && both < 1e-2 * own && opens) loop.push(q);
    }
    let volts = 0;
    let slope = 0;
    let byMains = 0;
    const rates = doubles(nx);
    for (let k = 0; k < nx; k++) {
      let rate = B[k * nu] * vm + B[k * nu + 1];
      for (let d = 0; d < nd; d++) rate += B[k * nu + 2 + d] * drives[d];
      for (let c = 0; c < nx; c++) rate += A[k * nx + c] * before[n * nx + c];
      for (let q = 0; q < np; q++) rate += E[k * np + q] * i[stageBefore * np + q];
      rates[k] = rate;
    }
    for (const p of loop) {
      volts += Vu[p * nu + 1] - this.ports[p].knee;
      byMains += Vu[p * nu];
      for (let d = 0; d < nd; d++) volts += Vu[p * nu + 2 + d] * drives[d];
      for (let q = 0; q < np; q++) {
        if (!loop.includes(q)) volts -= Z[p * np + q] * i[stageBefore * np + q];
      }
      for (let k = 0; k < nx; k++) {
        volts += Vx[p * nx + k] * before[n * nx + k];
        slope += Vx[p * nx + k] * rates[k];
      }
    }
    let t = 0;
    for (let k = 0; k < 12; k++) {
      const angle = omega * (time + t);
      const steep = slope + byMains * peak * omega * Math.cos(angle);
      if (!(steep > 0)) return undefined;
      t -= (volts + slope * t + byMains * peak * Math.sin(angle)) / steep;
    }
    volts += byMains * vm;
    // It may lie just behind the step, as where the mesh was laid for it: what has begun before is the foot of the knee.
    const part = t / step;
    return volts < 0 && part >= 0 && part < 1.2 ? part : undefined;
  }

  /**
   * When the current of a port behind a choke ends within a step, as a part of it: drawn on from the steps before, since what
   * follows is as abrupt as the choke makes it. Undefined for any other port.
   */
  private ending(
    { i, lengths }: Passed,
    port: number,
    n: number,
    ohms: number,
    step: number,
  ): number | undefined {
    if (ohms < 1e5 || n < 2) return undefined;
    const { np } = this.net;
    const current = (before: number) => i[((n - before) * stages + stages - 1) * np + port];
    // Amperes at the ends of the steps before; times from this step's start.
    const i0 = current(1);
    const i1 = current(2);
    const t1 = -lengths[n - 1];
    if (!(i0 > 0 && i1 > i0)) return undefined;
    let slope = (i1 - i0) / t1;
    let bend = 0;
    const i2 = n > 2 ? current(3) : 0;
    if (i2 > 0) {
      const t2 = t1 - lengths[n - 2];
      bend = ((i2 - i0) / t2 - slope) / (t2 - t1);
      slope -= bend * t1;
    }
    let t = -i0 / slope;
    for (let k = 0; k < 8; k++) {
      const steep = slope + 2 * bend * t;
      if (!(steep < 0)) return undefined;
      t -= (i0 + slope * t + bend * t * t) / steep;
    }
    return t >= 0 && t <= step ? t / step : undefined;
  }

  /** Resistance that a port sees at a stage, the other ports that conduct there taken as closed. */
  private pathOhms({ i }: Passed, port: number, stage: number): number {
    const { np, Z } = this.net;
    const closed: number[] = [port];
    for (let p = 0; p < np; p++) if (p !== port && i[stage * np + p] > 1e-6) closed.push(p);
    const n = closed.length;
    const m = doubles(n * n);
    const e = doubles(n);
    e[0] = 1;
    for (let r = 0; r < n; r++) for (let c = 0; c < n; c++) m[r * n + c] = Z[closed[r] * np + closed[c]];
    solveDense(m, e, n, 1);
    const ohms = 1 / e[0];
    return ohms > 0 && Number.isFinite(ohms) ? Math.min(ohms, 1e6) : 0;
  }
}

/** Where, 0..1, the parabola through (0, s0), (1/3, s1), (1, s2) crosses zero; half way where it does not. */
function crossing(s0: number, s1: number, s2: number): number {
  if (!(s0 * s2 < 0)) return 0.5;
  const straight = s0 / (s0 - s2);
  // s = s0 + b t + c t^2
  const c = (s2 - s0 - 3 * (s1 - s0)) / (1 - 1 / 3);
  const b = s2 - s0 - c;
  let t = straight;
  for (let k = 0; k < 8; k++) {
    const slope = b + 2 * c * t;
    if (slope === 0) return straight;
    t -= (s0 + b * t + c * t * t) / slope;
  }
  return t >= 0 && t <= 1 ? t : Math.min(1, Math.max(0, straight));
}
