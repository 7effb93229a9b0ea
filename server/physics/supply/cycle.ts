/**
 * The periodic steady state of a rectifier island, by shooting: Newton on the storage elements' state at the cycle's start, with the
 * state-transition sensitivity carried along the cycle, never by integrating seconds of settling. The mesh's joints stand where
 * rectifiers start and stop conducting.
 */
import { solveDense } from "../linear/dense.ts";
import { copyOf, doubles } from "../linear/slabs.ts";
import { Bracket } from "./bracket.ts";
import { type Event, Events } from "./events.ts";
import { meshFor } from "./mesh.ts";
import type { Multiport, Row } from "./multiport.ts";
import type { Port } from "./ports.ts";
import type { CycleRecord } from "./record.ts";
import { type Stretch, stages } from "./steps.ts";
import { Sweep } from "./sweep.ts";

export interface Steady {
  readonly converged: boolean;
  /** Cycles integrated to get there. */
  readonly cycles: number;
  /** What Newton still moved the start by after the last cycle, as a part of the crest. */
  readonly left: number;
  /** Averages of the observed rows. */
  readonly means: Float64Array;
  /** d(means)/d(drives), row-major observed x drives. */
  readonly slopes: Float64Array;
}

export interface CycleOptions {
  /** Makes every step so many times shorter; for tests of step independence. */
  readonly refine?: number;
}

/** Closer than this a mesh that is laid for the rectifiers is worth while. */
const rough = 3e-3;

/** A new mesh that moves the start by less, as a part of the crest, was not needed. */
const meshMatters = 5e-5;
/** Nor is one whose joints lie no further from where rectifiers start and stop, as a part of the cycle. */
const astrayMatters = 1 / 1000;

export class Cycle {
  readonly period: number;
  readonly omega: number;
  /** State at the cycle's start. */
  readonly start: Float64Array;
  /** d(start)/d(drives), row-major. */
  private readonly startByDrive: Float64Array;
  private startSet = false;
  private readonly lastDrives: Float64Array;
  private lastPeak = 0;
  /** What the start did besides scaling with the mains when they last changed, per volt of their crest. */
  private readonly bentByPeak: Float64Array;

  /** What the last cycle did. */
  private readonly sweep: Sweep;
  private readonly events: Events;
  private readonly meshDrives: Float64Array;
  private meshPeak = 0;
  private aligned = false;
  private laidFor: readonly Event[] = [];
  private passed: { readonly passes: number; readonly events: readonly Event[] } | undefined;
  /** How far they lay from where the rectifiers started and stopped in the last steady state that was looked at to the end. */
  private bestAstray = 0;
  /** Average current that the ports carried when the mesh was laid. */
  private carried = 0;

  private readonly nx: number;
  private readonly np: number;
  private readonly nd: number;
  private readonly no: number;

  constructor(
    private readonly net: Multiport,
    ports: readonly Port[],
    observed: readonly Row[],
    readonly hertz: number,
    private readonly options: CycleOptions = {},
  ) {
    this.period = 1 / hertz;
    this.omega = 2 * Math.PI * hertz;
    this.nx = net.nx;
    this.np = net.np;
    this.nd = net.nu - 2;
    this.no = observed.length;
    this.start = doubles(this.nx);
    this.startByDrive = doubles(this.nx * this.nd);
    this.lastDrives = doubles(this.nd);
    this.bentByPeak = doubles(this.nx);
    this.meshDrives = doubles(this.nd);
    this.sweep = new Sweep(net, ports, observed, this.period);
    this.events = new Events(net, ports, this.omega);
  }

  /** A circuit of the same states, ports and drives, which may go on where another stands. */
  alike(other: Cycle): boolean {
    return this.nx === other.nx && this.np === other.np && this.nd === other.nd && this.hertz === other.hertz;
  }

  /** Begin from another's steady state and mesh. The circuits must be alike. */
  startFrom(other: Cycle): void {
    if (!other.startSet) return;
    this.start.set(other.start);
    this.startSet = true;
    this.lastDrives.set(other.lastDrives);
    this.startByDrive.set(other.startByDrive);
    this.lastPeak = other.lastPeak;
    this.meshDrives.set(other.meshDrives);
    this.meshPeak = other.meshPeak;
    this.carried = other.carried;
    this.aligned = other.aligned;
    this.laidFor = other.laidFor;
    this.bestAstray = other.bestAstray;
    this.sweep.lay(other.sweep.stretches);
  }

  /**
   * Averages without any drive, roughly: a few cycles from rest. Leaves the state where they end.
   */
  preview(peak: number): Float64Array {
    this.startSet = true;
    this.lay([]);
    const none = doubles(this.nd);
    this.settle(peak, none, 3);
    this.lastPeak = peak;
    this.lastDrives.fill(0);
    this.startByDrive.fill(0);
    return copyOf(this.sweep.means);
  }

  /**
   * The periodic steady state.
   * @param peak volts of the mains' crest
   * @param drives amperes driven into each boundary node from outside, constant over the cycle
   * @param close  how far the end may lie from the start, as a part of the crest; averages are good to about its square
   */
  solve(peak: number, drives: Float64Array, close = 2e-6): Steady {
    const { nx, nd, no, sweep } = this;
    const { cols } = sweep;
    let cycles = 0;
    const foreseen = doubles(nx);
    let rise = 0;
    if (!this.startSet) {
      this.startSet = true;
      this.lay([]);
      // A few cycles from rest fill the reservoirs; Newton takes over from there.
      cycles += this.settle(peak, drives, 3);
    } else if (this.lastPeak > 0) {
      const scale = peak / this.lastPeak;
      rise = peak - this.lastPeak;
      if (scale !== 1) for (let k = 0; k < nx; k++) this.start[k] *= scale;
      let most = 0;
      let moved = 0;
      for (let d = 0; d < nd; d++) {
        const change = drives[d] - this.lastDrives[d] * scale;
        most = Math.max(most, Math.abs(drives[d]));
        moved = Math.max(moved, Math.abs(change));
        if (change !== 0)
          for (let k = 0; k < nx; k++) this.start[k] += this.startByDrive[k * nd + d] * change;
      }
      foreseen.set(this.start);
      if (moved > 0.05 * most) {
        rise = 0;
        this.bentByPeak.fill(0);
      }
      // What the last change of mains did besides, it does again.
      if (rise !== 0) for (let k = 0; k < nx; k++) this.start[k] += this.bentByPeak[k] * rise;
    }
    this.lastDrives.set(drives);
    this.lastPeak = peak;

    const unit = Math.max(1, Math.abs(peak));
    const size = (k: number) => (k < this.net.chargeStates ? unit : unit * 1e-3);
    const jac = doubles(nx * nx);
    const rhs = doubles(nx * (1 + nd));
    let converged = false;
    let left = Number.POSITIVE_INFINITY;
    let worstBefore = Infinity;
    // Where Newton last stepped from, by what, and what was missing there along that step.
    const last = { start: doubles(nx), step: doubles(nx), missing: 0 };
    let bracket: Bracket | undefined;
    let bracketed = false;
    let layings = 0;
    // Whether the mesh has been laid anew, and what the first cycle on it moved the start by.
    let laid = false;
    let firstLook = Number.POSITIVE_INFINITY;
    const final = close < 1e-5;
    let mustAlign = this.np > 0 && close < rough && this.moved(peak, drives) > (final ? 0.02 : 0.06);
    for (let iteration = 0; iteration < 60; iteration++) {
      sweep.run(this.start, peak, drives, true);
      cycles++;
      let worst = 0;
      for (let r = 0; r < nx; r++) {
        const shot = sweep.end[r] - this.start[r];
        worst = Math.max(worst, Math.abs(shot) / size(r));
        // (1 - dEnd/dStart) dx = end - start; the drives' columns give the slopes.
        for (let c = 0; c < nx; c++) jac[r * nx + c] = (r === c ? 1 : 0) - sweep.endBy[r * cols + c];
        rhs[r * (1 + nd)] = shot;
        for (let d = 0; d < nd; d++) rhs[r * (1 + nd) + 1 + d] = sweep.endBy[r * cols + nx + d];
      }
      if (!(worst < 1e9)) {
        // Lost: begin again from rest by following the circuit.
        if (iteration > 20) break;
        this.start.fill(0);
        cycles += this.settle(peak, drives, 4);
        worstBefore = Infinity;
        continue;
      }
      solveDense(jac, rhs, nx, 1 + nd);
      if (!finite(rhs)) break;
      let by = 0;
      for (let k = 0; k < nx; k++) by = Math.max(by, Math.abs(rhs[k * (1 + nd)]) / size(k));
      if (laid && firstLook === Number.POSITIVE_INFINITY) firstLook = by;
      if (mustAlign && by < 0.03) {
        // Close enough to know when each rectifier conducts: put the mesh's joints there.
        this.realign(peak, drives);
        laid = true;
        firstLook = Number.POSITIVE_INFINITY;
        mustAlign = ++layings < 3 && by > 3e-3;
        for (let k = 0; k < nx; k++) this.start[k] += rhs[k * (1 + nd)];
        worstBefore = Infinity;
        continue;
      }
      if (worst < close && by < 15 * close) {
        // A mesh laid anew is as good as it gets once that has hardly moved the answer: where a soft knee or a trickle lets go is
        // not to be told more exactly, and no reading depends on it.
        // On the way there the mesh need not be that near either.
        const idle = !final || (laid && firstLook < meshMatters);
        if (!idle && layings < 3 && !this.meshed(peak, drives)) {
          this.realign(peak, drives);
          layings++;
          laid = true;
          firstLook = Number.POSITIVE_INFINITY;
          for (let k = 0; k < nx; k++) this.start[k] += rhs[k * (1 + nd)];
          worstBefore = Number.POSITIVE_INFINITY;
          continue;
        }
        converged = true;
        left = by;
        if (final && this.np > 0) this.bestAstray = this.astray(peak, drives);
        // The last correction, to first order: the averages are then good to its square.
        for (let o = 0; o < no; o++) {
          for (let k = 0; k < nx; k++) sweep.means[o] += sweep.meansBy[o * cols + k] * rhs[k * (1 + nd)];
        }
        for (let k = 0; k < nx; k++) this.start[k] += rhs[k * (1 + nd)];
        break;
      }
      if (bracket && worst < 0.3 * bracket.best) bracket = undefined;
      if (bracket?.tooLong()) {
        // Follow the circuit for a cycle, and leave brackets alone.
        bracket = undefined;
        bracketed = true;
        this.start.set(sweep.end);
        worstBefore = Number.POSITIVE_INFINITY;
        continue;
      }
      if (bracket) bracket.tighten(this.start, this.along(last.step, size));
      else if (!bracketed && worst > 0.7 * worstBefore && last.missing > 0) {
        const missing = this.along(last.step, size);
        if (missing < 0) {
          bracket = new Bracket(copyOf(last.start), last.missing, copyOf(this.start), missing, worstBefore);
        }
      }
      if (bracket) {
        bracket.next(this.start);
        worstBefore = Number.POSITIVE_INFINITY;
      } else if (worst > 4 * worstBefore) {
        // Newton went astray: follow the circuit for a cycle.
        this.start.set(sweep.end);
        worstBefore = Number.POSITIVE_INFINITY;
      } else {
        last.start.set(this.start);
        for (let k = 0; k < nx; k++) last.step[k] = rhs[k * (1 + nd)];
        last.missing = this.along(last.step, size);
        for (let k = 0; k < nx; k++) this.start[k] += last.step[k];
        worstBefore = worst;
      }
    }

    if (converged && rise !== 0) {
      for (let k = 0; k < nx; k++) this.bentByPeak[k] = (this.start[k] - foreseen[k]) / rise;
    }

    // Slopes by the chain rule through the steady state.
    const slopes = doubles(no * nd);
    for (let r = 0; r < nx; r++) {
      for (let d = 0; d < nd; d++) this.startByDrive[r * nd + d] = rhs[r * (1 + nd) + 1 + d];
    }
    for (let o = 0; o < no; o++) {
      for (let d = 0; d < nd; d++) {
        let s = sweep.meansBy[o * cols + nx + d];
        for (let k = 0; k < nx; k++) s += sweep.meansBy[o * cols + k] * this.startByDrive[k * nd + d];
        slopes[o * nd + d] = s;
      }
    }
    return { converged, cycles, left, means: copyOf(sweep.means), slopes };
  }

  /** What the last cycle misses, along a step. */
  private along(step: Float64Array, size: (k: number) => number): number {
    let sum = 0;
    for (let k = 0; k < this.nx; k++) sum += ((this.sweep.end[k] - this.start[k]) * step[k]) / size(k) ** 2;
    return sum;
  }

  /** Follow the circuit for some cycles. */
  private settle(peak: number, drives: Float64Array, count: number): number {
    for (let k = 0; k < count; k++) {
      this.sweep.run(this.start, peak, drives, false);
      if (!finite(this.sweep.end)) return k + 1;
      this.start.set(this.sweep.end);
    }
    return count;
  }

  /** Lay the mesh along what the last cycle did. */
  private realign(peak: number, drives: Float64Array): void {
    this.meshDrives.set(drives);
    this.meshPeak = peak;
    this.carried = 0;
    const { steps, i } = this.sweep;
    for (let r = 0; r < steps * stages * this.np; r++) this.carried += Math.abs(i[r]);
    this.carried /= Math.max(1, steps * stages);
    this.laidFor = this.eventsOf(peak, drives);
    this.lay(this.laidFor);
    this.aligned = true;
  }

  /** The mesh's joints stand where rectifiers started and stopped in the last cycle. */
  meshed(peak: number, drives: Float64Array): boolean {
    if (this.np === 0) return true;
    return this.aligned && this.astray(peak, drives) <= Math.max(astrayMatters, 1.2 * this.bestAstray);
  }

  /**
   * How far the events of the last cycle lie from those that the mesh was laid for, at most, as a part of the cycle: abrupt ones count
   * for more.
   */
  private astray(peak: number, drives: Float64Array): number {
    const { period, laidFor } = this;
    let most = 0;
    for (const { time, port, on, abrupt } of this.eventsOf(peak, drives)) {
      let least = period;
      for (const laid of laidFor) {
        if (laid.port !== port || laid.on !== on) continue;
        const away = Math.abs(laid.time - time);
        least = Math.min(least, away, period - away);
      }
      least = Math.min(period, least * abrupt);
      if (least > most) most = least;
    }
    return most / period;
  }

  /** Of the last cycle: found once, though several ask. */
  private eventsOf(peak: number, drives: Float64Array): readonly Event[] {
    const { passes } = this.sweep;
    if (this.passed?.passes !== passes)
      this.passed = { passes, events: this.events.of(this.sweep, peak, drives) };
    return this.passed.events;
  }

  /** How far the conditions have moved, as a fraction, since the mesh was laid. */
  private moved(peak: number, drives: Float64Array): number {
    if (!this.aligned) return Infinity;
    let size = 0;
    let change = 0;
    const scale = this.meshPeak !== 0 ? peak / this.meshPeak : 1;
    for (let d = 0; d < this.nd; d++) {
      size = Math.max(size, Math.abs(this.meshDrives[d]));
      change = Math.max(change, Math.abs(drives[d] - scale * this.meshDrives[d]));
    }
    // When a rectifier conducts depends on the load's share, hardly on the level.
    return Math.max(0.1 * Math.abs(scale - 1), change / (Math.max(size, this.carried) + 1e-9));
  }

  private lay(events: readonly Event[]): void {
    const { sweep } = this;
    const atRest = Array.from(
      { length: this.np },
      (_, port) => sweep.steps > 0 && sweep.i[port] > this.events.threshold(sweep, port),
    );
    sweep.lay(meshFor(events, this.period, atRest, this.options.refine ?? 1));
  }

  /** What the last cycle did, for readings. */
  record(peak: number, drives: Float64Array): CycleRecord {
    return this.sweep.record(peak, drives);
  }

  /** Slopes of the ports' laws along a record: count x np. */
  slopesAlong(record: CycleRecord): Float64Array {
    return this.sweep.ports.slopesAlong(record);
  }

  /** Stage states by a rate added at each stage, for a stretch: s n x s n. */
  rates(stretch: Stretch): Float64Array {
    return this.sweep.rates(stretch);
  }
}

function finite(values: Float64Array): boolean {
  for (let k = 0; k < values.length; k++) if (!Number.isFinite(values[k])) return false;
  return true;
}
