/**
 * One mains cycle of a rectifier island, and its periodic steady state.
 *
 * The cycle is integrated by a Radau IIA method (implicit, L-stable, stiffly accurate, so that a choke whose rectifiers have
 * all let go does no harm) on a mesh whose joints stand where rectifiers start and stop conducting. The linear part of a step is
 * eliminated beforehand; what is left is a Newton on the volts of the ports that conduct. The steady state is found by
 * shooting: Newton on the storage elements' state at the cycle's start, with the state-transition sensitivity carried along
 * the cycle, never by integrating seconds of settling.
 */
import type { DiodeLaw } from "../device.ts";
import { type Multiport, type Row, solveDense } from "./multiport.ts";

/** Radau IIA, two stages, order three: E. Hairer, G. Wanner, Solving Ordinary Differential Equations II, table IV.5.5. */
export const stages = 2;
const nodes = [1 / 3, 1];
const tableau = [5 / 12, -1 / 12, 3 / 4, 1 / 4];
const weights = [3 / 4, 1 / 4];

export interface Port {
  readonly law: DiodeLaw;
  /** Volts at which it begins to conduct, for the mesh. */
  readonly knee: number;
  /** Below these volts it carries nothing. */
  readonly deep: number;
}

/**
 * A run of equal steps, with the matrices of such a step. Columns of each: the state before the step (n), the constant inputs (1 and
 * the drives), the mains volts at the stages (s), the ports' currents at the stages (s p).
 */
export interface Stretch {
  readonly start: number;
  readonly step: number;
  readonly count: number;
  /** Stage states: s n rows. */
  readonly Y: Float64Array;
  /** Port volts at the stages: s p rows. The last columns are minus the impedance. */
  readonly V: Float64Array;
  /** This step's share in the averages: a row for each observed. */
  readonly O: Float64Array;
}

/** Where a stretch lies, without its matrices. */
interface Piece {
  readonly start: number;
  readonly step: number;
  readonly count: number;
}

/** What happened at each stage of each step of a cycle: `count` stages, row-major. */
export interface CycleRecord {
  readonly count: number;
  readonly time: Float64Array;
  /** Weights of the average over the cycle (their sum is 1). */
  readonly weight: Float64Array;
  /** Mains volts. */
  readonly mains: Float64Array;
  /** States, count x nx. */
  readonly x: Float64Array;
  /** Volts and amperes of the ports, count x np. */
  readonly v: Float64Array;
  readonly i: Float64Array;
  /** How it was computed. */
  readonly stretches: readonly Stretch[];
  /** d(end)/d(start), row-major. */
  readonly endByStart: Float64Array;
}

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

/** What is less is no current. */
const leastAmps = 1e-9;
const MOST_DROPS = 3;
/** Closer than this a mesh that is laid for the rectifiers is worth while. */
const rough = 3e-3;
/** A bracket that holds a steady state has it by then. */
const mostRounds = 12;

/** A new mesh that moves the start by less, as a part of the crest, was not needed. */
const meshMatters = 5e-5;
/** Nor is one whose joints lie no further from where rectifiers start and stop, as a part of the cycle. */
const astrayMatters = 1 / 1000;

/** First steps of a pulse, as parts of the cycle. */
const growing = [1 / 1200, 1 / 600, 1 / 300, 1 / 150] as const;

interface Bracket {
  readonly a: Float64Array;
  readonly b: Float64Array;
  /** What is missing at each, along the step. */
  fa: number;
  fb: number;
  side: number;
  /** Cycles spent on it. */
  rounds: number;
  readonly best: number;
}

interface Event {
  readonly time: number;
  readonly port: number;
  readonly on: boolean;
}

/** Work done so far, for the bench's profile. */
export const work = { cycles: 0, steps: 0, newton: 0, meshes: 0 };

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

  private stretches: readonly Stretch[] = [];
  private meshDrives: Float64Array;
  private meshPeak = 0;
  private aligned = false;
  private laidFor: readonly Event[] = [];
  /** How far they lay from where the rectifiers started and stopped in the last steady state that was looked at to the end. */
  private bestAstray = 0;
  /** Average current that the ports carried when the mesh was laid. */
  private carried = 0;

  // What the last cycle did: states before each step, volts and amperes of the ports at each stage.
  private steps = 0;
  /** Seconds of each step. */
  private lengths = new Float64Array(0);
  private before = new Float64Array(0);
  private v = new Float64Array(0);
  private i = new Float64Array(0);

  private readonly nx: number;
  private readonly np: number;
  private readonly nd: number;
  private readonly no: number;
  private readonly cols: number;
  private readonly end: Float64Array;
  private readonly means: Float64Array;
  private readonly endBy: Float64Array;
  private readonly meansBy: Float64Array;
  private readonly law2 = new Float64Array(2);
  /** Every port's law can be turned round. */
  private readonly inverse: boolean;
  /** Volts at which each port carries `leastAmps`. */
  private readonly onset: Float64Array;
  /** Columns of a stretch's matrices. */
  private readonly width: number;
  private readonly scratch: Float64Array;
  private readonly space: {
    readonly x: Float64Array;
    readonly xn: Float64Array;
    readonly vm: Float64Array;
    readonly vConst: Float64Array;
    readonly xConst: Float64Array;
    readonly oConst: Float64Array;
    readonly stageV: Float64Array;
    readonly stageI: Float64Array;
    readonly g: Float64Array;
    readonly ohms: Float64Array;
    readonly v0: Float64Array;
    /** Volts of each active port if it alone were to let go. */
    readonly open: Float64Array;
    /** Of the ports' currents: at a step's start, and how they go on from its end. */
    readonly begun: Float64Array;
    readonly slopes: Float64Array;
    readonly bends: Float64Array;
    readonly active: Int32Array;
    /** How often each port went out while a step was solved. */
    readonly drops: Int32Array;
    readonly jac: Float64Array;
    readonly f: Float64Array;
    readonly dx: Float64Array;
    readonly dn: Float64Array;
    readonly di: Float64Array;
  };

  constructor(
    private readonly net: Multiport,
    private readonly ports: readonly Port[],
    private readonly observed: readonly Row[],
    readonly hertz: number,
    private readonly options: CycleOptions = {},
  ) {
    this.period = 1 / hertz;
    this.omega = 2 * Math.PI * hertz;
    this.nx = net.nx;
    this.np = net.np;
    this.nd = net.nu - 2;
    this.no = observed.length;
    this.cols = this.nx + this.nd;
    this.start = new Float64Array(this.nx);
    this.startByDrive = new Float64Array(this.nx * this.nd);
    this.lastDrives = new Float64Array(this.nd);
    this.bentByPeak = new Float64Array(this.nx);
    this.meshDrives = new Float64Array(this.nd);
    this.end = new Float64Array(this.nx);
    this.means = new Float64Array(this.no);
    this.endBy = new Float64Array(this.nx * this.cols);
    this.meansBy = new Float64Array(this.no * this.cols);
    this.inverse = ports.every(({ law }) => law.inverse !== undefined);
    this.onset = Float64Array.from(ports, ({ law }) => {
      law.inverse?.(leastAmps, this.law2);
      return this.law2[0];
    });
    const { nx, np, nd, no, cols } = this;
    const sp = stages * np;
    this.width = nx + 1 + nd + stages + sp;
    this.scratch = new Float64Array(stages * nx * stages * nx);
    this.space = {
      x: new Float64Array(nx),
      xn: new Float64Array(nx),
      vm: new Float64Array(stages),
      vConst: new Float64Array(sp),
      xConst: new Float64Array(nx),
      oConst: new Float64Array(no),
      stageV: new Float64Array(sp),
      stageI: new Float64Array(sp),
      g: new Float64Array(sp),
      ohms: new Float64Array(sp),
      v0: new Float64Array(sp),
      open: new Float64Array(sp),
      begun: new Float64Array(np),
      slopes: new Float64Array(np),
      bends: new Float64Array(np),
      active: new Int32Array(sp),
      drops: new Int32Array(sp),
      jac: new Float64Array(sp * sp),
      f: new Float64Array(sp),
      dx: new Float64Array(nx * cols),
      dn: new Float64Array(nx * cols),
      di: new Float64Array(sp * cols),
    };
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
    this.lay(other.stretches);
  }

  /**
   * Averages without any drive, roughly: a few cycles from rest. Leaves the state where they end.
   */
  preview(peak: number): Float64Array {
    this.startSet = true;
    this.layMesh([]);
    const none = new Float64Array(this.nd);
    this.settle(peak, none, 3);
    this.lastPeak = peak;
    this.lastDrives.fill(0);
    this.startByDrive.fill(0);
    return this.means.slice();
  }

  /**
   * The periodic steady state.
   * @param peak volts of the mains' crest
   * @param drives amperes driven into each boundary node from outside, constant over the cycle
   * @param close  how far the end may lie from the start, as a part of the crest; averages are good to about its square
   */
  solve(peak: number, drives: Float64Array, close = 2e-6): Steady {
    const { nx, nd, no, cols } = this;
    let cycles = 0;
    const foreseen = new Float64Array(nx);
    let rise = 0;
    if (!this.startSet) {
      this.startSet = true;
      this.layMesh([]);
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
    const jac = new Float64Array(nx * nx);
    const rhs = new Float64Array(nx * (1 + nd));
    let converged = false;
    let left = Number.POSITIVE_INFINITY;
    let worstBefore = Infinity;
    // Where Newton last stepped from, by what, and what was missing there along that step.
    const last = { start: new Float64Array(nx), step: new Float64Array(nx), missing: 0 };
    // Two starts with the steady state between them, once Newton has been seen to leap over it to and fro: from a charge that only
    // a leakage takes away to one that a rectifier makes good within a cycle.
    let bracket: Bracket | undefined;
    let bracketed = false;
    let layings = 0;
    // Whether the mesh has been laid anew, and what the first cycle on it moved the start by.
    let laid = false;
    let firstLook = Number.POSITIVE_INFINITY;
    const final = close < 1e-5;
    let mustAlign = this.np > 0 && close < rough && this.moved(peak, drives) > (final ? 0.02 : 0.06);
    for (let iteration = 0; iteration < 60; iteration++) {
      this.integrate(peak, drives, true);
      cycles++;
      let worst = 0;
      for (let r = 0; r < nx; r++) {
        const shot = this.end[r] - this.start[r];
        worst = Math.max(worst, Math.abs(shot) / size(r));
        // (1 - dEnd/dStart) dx = end - start; the drives' columns give the slopes.
        for (let c = 0; c < nx; c++) jac[r * nx + c] = (r === c ? 1 : 0) - this.endBy[r * cols + c];
        rhs[r * (1 + nd)] = shot;
        for (let d = 0; d < nd; d++) rhs[r * (1 + nd) + 1 + d] = this.endBy[r * cols + nx + d];
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
          for (let k = 0; k < nx; k++) this.means[o] += this.meansBy[o * cols + k] * rhs[k * (1 + nd)];
        }
        for (let k = 0; k < nx; k++) this.start[k] += rhs[k * (1 + nd)];
        break;
      }
      if (bracket && worst < 0.3 * bracket.best) bracket = undefined;
      if (bracket && ++bracket.rounds > mostRounds) {
        // The steady state does not lie between the two: follow the circuit for a cycle, and leave brackets alone.
        bracket = undefined;
        bracketed = true;
        this.start.set(this.end);
        worstBefore = Number.POSITIVE_INFINITY;
        continue;
      }
      if (bracket) {
        // Regula falsi, the Illinois way: the end that stays counts for half.
        const missing = this.along(last.step, size);
        if (missing > 0) {
          bracket.a.set(this.start);
          bracket.fa = missing;
          if (bracket.side > 0) bracket.fb *= 0.5;
          bracket.side = 1;
        } else {
          bracket.b.set(this.start);
          bracket.fb = missing;
          if (bracket.side < 0) bracket.fa *= 0.5;
          bracket.side = -1;
        }
      } else if (!bracketed && worst > 0.7 * worstBefore && last.missing > 0) {
        const missing = this.along(last.step, size);
        if (missing < 0) {
          bracket = {
            a: last.start.slice(),
            b: this.start.slice(),
            fa: last.missing,
            fb: missing,
            side: 0,
            rounds: 0,
            best: worstBefore,
          };
        }
      }
      if (bracket) {
        const part = Math.min(0.98, Math.max(0.02, bracket.fa / (bracket.fa - bracket.fb)));
        for (let k = 0; k < nx; k++) this.start[k] = bracket.a[k] + part * (bracket.b[k] - bracket.a[k]);
        worstBefore = Number.POSITIVE_INFINITY;
      } else if (worst > 4 * worstBefore) {
        // Newton went astray: follow the circuit for a cycle.
        this.start.set(this.end);
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
    const slopes = new Float64Array(no * nd);
    for (let r = 0; r < nx; r++) {
      for (let d = 0; d < nd; d++) this.startByDrive[r * nd + d] = rhs[r * (1 + nd) + 1 + d];
    }
    for (let o = 0; o < no; o++) {
      for (let d = 0; d < nd; d++) {
        let s = this.meansBy[o * cols + nx + d];
        for (let k = 0; k < nx; k++) s += this.meansBy[o * cols + k] * this.startByDrive[k * nd + d];
        slopes[o * nd + d] = s;
      }
    }
    return { converged, cycles, left, means: this.means.slice(), slopes };
  }

  /** What the last cycle misses, along a step. */
  private along(step: Float64Array, size: (k: number) => number): number {
    let sum = 0;
    for (let k = 0; k < this.nx; k++) sum += ((this.end[k] - this.start[k]) * step[k]) / size(k) ** 2;
    return sum;
  }

  /** Follow the circuit for some cycles. */
  private settle(peak: number, drives: Float64Array, count: number): number {
    for (let k = 0; k < count; k++) {
      this.integrate(peak, drives, false);
      if (!finite(this.end)) return k + 1;
      this.start.set(this.end);
    }
    return count;
  }

  /** Lay the mesh along what the last cycle did. */
  private realign(peak: number, drives: Float64Array): void {
    this.meshDrives.set(drives);
    this.meshPeak = peak;
    this.carried = 0;
    for (let r = 0; r < this.steps * stages * this.np; r++) this.carried += Math.abs(this.i[r]);
    this.carried /= Math.max(1, this.steps * stages);
    this.laidFor = this.events(peak, drives);
    this.layMesh(this.laidFor);
    this.aligned = true;
  }

  /** The mesh's joints stand where rectifiers started and stopped in the last cycle. */
  meshed(peak: number, drives: Float64Array): boolean {
    if (this.np === 0) return true;
    return this.aligned && this.astray(peak, drives) <= Math.max(astrayMatters, 1.2 * this.bestAstray);
  }

  /** How far the events of the last cycle lie from those that the mesh was laid for, at most, as a part of the cycle. */
  private astray(peak: number, drives: Float64Array): number {
    const { period, laidFor } = this;
    let most = 0;
    for (const { time, port, on } of this.events(peak, drives)) {
      let least = period;
      for (const laid of laidFor) {
        if (laid.port !== port || laid.on !== on) continue;
        const away = Math.abs(laid.time - time);
        least = Math.min(least, away, period - away);
      }
      if (least > most) most = least;
    }
    return most / period;
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

  /**
   * When each port starts and stops conducting, from the last cycle. What is followed is the port's open volts, drawn on into
   * conduction as volts plus amperes times the resistance in its way: smooth through the event, where the port's own volts
   * and current each have a corner.
   */
  private events(peak: number, drives: Float64Array): readonly Event[] {
    const found: Event[] = [];
    const { np, steps, v, i } = this;
    if (steps === 0) return found;
    for (let p = 0; p < np; p++) {
      const knee = this.ports[p].knee;
      const threshold = this.threshold(p);
      let n = 0;
      let at = steps * stages - 1;
      for (const piece of this.stretches) {
        for (let k = 0; k < piece.count; k++, n++) {
          const end = n * stages + stages - 1;
          const was = i[at * np + p] > threshold;
          const is = i[end * np + p] > threshold;
          if (was !== is) {
            const ohms = this.pathOhms(p, was ? at : end);
            const open = (stage: number) => v[stage * np + p] - knee + ohms * i[stage * np + p];
            const part =
              (is
                ? this.opening(p, n, at, piece.start + k * piece.step, piece.step, peak, drives)
                : this.ending(p, n, ohms, piece.step)) ?? crossing(open(at), open(n * stages), open(end));
            found.push({ time: piece.start + (k + part) * piece.step, port: p, on: is });
          }
          at = end;
        }
      }
    }
    return found;
  }

  /** Current from which a port is taken to conduct: a little part of its largest. */
  private threshold(port: number): number {
    const { np, i } = this;
    let most = 0;
    for (let k = port, end = this.steps * stages * np; k < end; k += np) if (i[k] > most) most = i[k];
    return Math.max(1e-4 * most, 1e-9);
  }

  /**
   * When a blocked port opens within a step, as a part of it: from its volts at the step's start, their slope, and the mains as they
   * go on, as if nothing were to open. Undefined where that says nothing.
   */
  private opening(
    port: number,
    n: number,
    stageBefore: number,
    time: number,
    step: number,
    peak: number,
    drives: Float64Array,
  ): number | undefined {
    const { nx, np, nd, omega } = this;
    const { A, B, E, Vx, Vu, Z, nu } = this.net;
    const vm = peak * Math.sin(omega * time);
    const end = n * stages + stages - 1;
    // Ports in series round a floating winding share its volts by their leakages alone: it is their loop that opens.
    const loop = [port];
    for (let q = 0; q < np; q++) {
      if (q === port) continue;
      const own = Z[port * np + port];
      const both = own + Z[q * np + q] + Z[port * np + q] + Z[q * np + port];
      const threshold = this.threshold(q);
      const opens = this.i[stageBefore * np + q] <= threshold && this.i[end * np + q] > threshold;
      if (own > 1e5 && both < 1e-2 * own && opens) loop.push(q);
    }
    let volts = 0;
    let slope = 0;
    let byMains = 0;
    const rates = new Float64Array(nx);
    for (let k = 0; k < nx; k++) {
      let rate = B[k * nu] * vm + B[k * nu + 1];
      for (let d = 0; d < nd; d++) rate += B[k * nu + 2 + d] * drives[d];
      for (let c = 0; c < nx; c++) rate += A[k * nx + c] * this.before[n * nx + c];
      for (let q = 0; q < np; q++) rate += E[k * np + q] * this.i[stageBefore * np + q];
      rates[k] = rate;
    }
    for (const p of loop) {
      volts += Vu[p * nu + 1] - this.ports[p].knee;
      byMains += Vu[p * nu];
      for (let d = 0; d < nd; d++) volts += Vu[p * nu + 2 + d] * drives[d];
      for (let q = 0; q < np; q++) {
        if (!loop.includes(q)) volts -= Z[p * np + q] * this.i[stageBefore * np + q];
      }
      for (let k = 0; k < nx; k++) {
        volts += Vx[p * nx + k] * this.before[n * nx + k];
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
    const part = t / step;
    return volts < 0 && part >= 0 && part <= 1 ? part : undefined;
  }

  /**
   * When the current of a port behind a choke ends within a step, as a part of it: drawn on from the steps before, since what
   * follows is as abrupt as the choke makes it. Undefined for any other port.
   */
  private ending(port: number, n: number, ohms: number, step: number): number | undefined {
    if (ohms < 1e5 || n < 2) return undefined;
    const { np, i, lengths } = this;
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
  private pathOhms(port: number, stage: number): number {
    const { np } = this;
    const { Z } = this.net;
    const closed: number[] = [port];
    for (let p = 0; p < np; p++) if (p !== port && this.i[stage * np + p] > 1e-6) closed.push(p);
    const n = closed.length;
    const m = new Float64Array(n * n);
    const e = new Float64Array(n);
    e[0] = 1;
    for (let r = 0; r < n; r++) for (let c = 0; c < n; c++) m[r * n + c] = Z[closed[r] * np + closed[c]];
    solveDense(m, e, n, 1);
    const ohms = 1 / e[0];
    return ohms > 0 && Number.isFinite(ohms) ? Math.min(ohms, 1e6) : 0;
  }

  private conducts(time: number, events: readonly Event[]): boolean {
    for (let p = 0; p < this.np; p++) {
      // The port's last event before that time, round the clock.
      let latest: Event | undefined;
      let last: Event | undefined;
      for (const e of events) {
        if (e.port !== p) continue;
        if (!last || e.time > last.time) last = e;
        if (e.time <= time && (!latest || e.time > latest.time)) latest = e;
      }
      const state = latest ?? last;
      if (state ? state.on : this.steps > 0 && this.i[p] > this.threshold(p)) return true;
    }
    return false;
  }

  private layMesh(events: readonly Event[]): void {
    work.meshes++;
    const T = this.period;
    const refine = this.options.refine ?? 1;
    const joints: number[] = [0];
    for (const t of events.map((e) => e.time).sort((a, b) => a - b)) {
      if (t - joints[joints.length - 1] > T / 4000 && t < T * (1 - 1 / 4000)) joints.push(t);
    }
    joints.push(T);
    const pieces: { start: number; length: number; count: number }[] = [];
    if (events.length === 0) {
      pieces.push({ start: 0, length: T, count: 48 });
    } else {
      for (let k = 0; k + 1 < joints.length; k++) {
        const start = joints[k];
        const length = joints[k + 1] - start;
        if (!this.conducts(start + length / 2, events)) {
          // A short step first, for a current that ends a little later than was told.
          const tail = k === 0 ? 0 : Math.min(length / 4, T / 500);
          if (tail > 0) pieces.push({ start, length: tail, count: 1 });
          pieces.push({
            start: start + tail,
            length: length - tail,
            count: Math.max(1, Math.ceil((length - tail) / (T / 18))),
          });
          continue;
        }
        // Steps growing from the corner where a pulse begins, and a short one again where it ends.
        let at = start;
        for (const part of growing) {
          const piece = Math.min(length * part * 8, T * part);
          pieces.push({ start: at, length: piece, count: 1 });
          at += piece;
        }
        const last = Math.min(length / 10, T / 150);
        const middle = start + length - last - at;
        pieces.push({ start: at, length: middle, count: Math.max(8, Math.ceil(middle / (T / 64))) });
        pieces.push({ start: start + length - last, length: last, count: 1 });
      }
    }
    this.lay(
      pieces.map(({ start, length, count }) => ({
        start,
        step: length / (count * refine),
        count: count * refine,
      })),
    );
  }

  private lay(pieces: readonly Piece[]): void {
    const known = new Map<number, Stretch>();
    this.stretches = pieces.map((piece) => {
      // Steps that differ by rounding alone are one.
      const key = Math.round((piece.step / this.period) * 1e9);
      const made = this.stretch(piece, known.get(key));
      known.set(key, made);
      return made;
    });
    const steps = this.stretches.reduce((sum, piece) => sum + piece.count, 0);
    this.lengths = new Float64Array(steps);
    let n = 0;
    for (const { step, count } of this.stretches) {
      this.lengths.fill(step, n, n + count);
      n += count;
    }
    if (this.before.length < (steps + 1) * this.nx) this.before = new Float64Array((steps + 1) * this.nx);
    if (this.v.length < steps * stages * this.np) {
      this.v = new Float64Array(steps * stages * this.np);
      this.i = new Float64Array(steps * stages * this.np);
    }
  }

  private stretch({ start, step, count }: Piece, like?: Stretch): Stretch {
    if (like) return { Y: like.Y, V: like.V, O: like.O, step, start, count };
    const { nx, np, no, width } = this;
    const { A, B, E, Vx, Vu, Z, nu } = this.net;
    const S = stages;
    const sn = S * nx;
    const nc = nu - 1;
    const mainsAt = nx + nc;
    const portsAt = mainsAt + S;
    // (1 - h a (x) A) Y = x + h a (x) (B u + E i)
    const W = this.scratch.fill(0);
    const Y = new Float64Array(sn * width);
    for (let j = 0; j < S; j++) {
      for (let k = 0; k < S; k++) {
        const ha = step * tableau[j * S + k];
        for (let r = 0; r < nx; r++) {
          const row = (j * nx + r) * width;
          for (let c = 0; c < nx; c++) W[(j * nx + r) * sn + k * nx + c] -= ha * A[r * nx + c];
          for (let c = 0; c < nc; c++) Y[row + nx + c] += ha * B[r * nu + 1 + c];
          Y[row + mainsAt + k] += ha * B[r * nu];
          for (let c = 0; c < np; c++) Y[row + portsAt + k * np + c] += ha * E[r * np + c];
        }
      }
      for (let r = 0; r < nx; r++) {
        W[(j * nx + r) * sn + j * nx + r] += 1;
        Y[(j * nx + r) * width + r] += 1;
      }
    }
    solveDense(W, Y, sn, width);
    const V = new Float64Array(S * np * width);
    for (let j = 0; j < S; j++) {
      for (let p = 0; p < np; p++) {
        const row = (j * np + p) * width;
        for (let k = 0; k < nx; k++) {
          const s = Vx[p * nx + k];
          if (s === 0) continue;
          const from = (j * nx + k) * width;
          for (let c = 0; c < width; c++) V[row + c] += s * Y[from + c];
        }
        for (let c = 0; c < nc; c++) V[row + nx + c] += Vu[p * nu + 1 + c];
        V[row + mainsAt + j] += Vu[p * nu];
        for (let c = 0; c < np; c++) V[row + portsAt + j * np + c] -= Z[p * np + c];
      }
    }
    const O = new Float64Array(no * width);
    for (let o = 0; o < no; o++) {
      const of = this.observed[o];
      for (let j = 0; j < S; j++) {
        const share = (weights[j] * step) / this.period;
        for (let k = 0; k < nx; k++) {
          const s = share * of.x[k];
          if (s === 0) continue;
          const from = (j * nx + k) * width;
          for (let c = 0; c < width; c++) O[o * width + c] += s * Y[from + c];
        }
        for (let c = 0; c < nc; c++) O[o * width + nx + c] += share * of.u[1 + c];
        O[o * width + mainsAt + j] += share * of.u[0];
        for (let c = 0; c < np; c++) O[o * width + portsAt + j * np + c] += share * of.i[c];
      }
    }
    return { start, step, count, Y, V, O };
  }

  /**
   * Amperes of the ports at one instant with every capacitor empty and every choke without current: what they are switched onto
   * hot. All inputs but the mains are taken as they are, without load.
   */
  switchedOn(mainsVolts: number): Float64Array {
    const { np, ports, law2 } = this;
    const { Vu, Z, nu } = this.net;
    const v = new Float64Array(np);
    const i = new Float64Array(np);
    const jac = new Float64Array(np * np);
    const f = new Float64Array(np);
    let before = Number.POSITIVE_INFINITY;
    for (let k = 0; k < 200; k++) {
      for (let p = 0; p < np; p++) {
        ports[p].law.evaluate(v[p], law2);
        i[p] = law2[0];
        f[p] = law2[1];
      }
      for (let p = 0; p < np; p++) {
        for (let q = 0; q < np; q++) jac[p * np + q] = (p === q ? 1 : 0) + Z[p * np + q] * f[q];
      }
      for (let p = 0; p < np; p++) {
        let s = Vu[p * nu] * mainsVolts + Vu[p * nu + 1] - v[p];
        for (let q = 0; q < np; q++) s -= Z[p * np + q] * i[q];
        f[p] = s;
      }
      solveDense(jac, f, np, 1);
      let size = 0;
      for (let p = 0; p < np; p++) size = Math.max(size, Math.abs(f[p]));
      const part = k > 20 && size > 0.5 * before ? 0.5 : 1;
      for (let p = 0; p < np; p++) v[p] += part * f[p];
      before = size;
      if (!(size > 1e-9)) break;
    }
    return i;
  }

  /** Stage states by a rate added at each stage, for a stretch: s n x s n. */
  rates({ step }: Stretch): Float64Array {
    const { nx } = this;
    const { A } = this.net;
    const sn = stages * nx;
    const W = new Float64Array(sn * sn);
    const H = new Float64Array(sn * sn);
    for (let j = 0; j < stages; j++) {
      for (let k = 0; k < stages; k++) {
        const ha = step * tableau[j * stages + k];
        for (let r = 0; r < nx; r++) {
          H[(j * nx + r) * sn + k * nx + r] += ha;
          for (let c = 0; c < nx; c++) W[(j * nx + r) * sn + k * nx + c] -= ha * A[r * nx + c];
        }
      }
      for (let r = 0; r < nx; r++) W[(j * nx + r) * sn + j * nx + r] += 1;
    }
    solveDense(W, H, sn, sn);
    return H;
  }

  /** Slopes of the ports' laws along a record: count x np. */
  slopesAlong({ v, i, count }: CycleRecord): Float64Array {
    const { np, ports, law2 } = this;
    const g = new Float64Array(count * np);
    for (let n = 0; n < count; n++) {
      for (let p = 0; p < np; p++) {
        const at = n * np + p;
        if (!(v[at] > ports[p].deep)) continue;
        if (this.inverse) {
          if (!(i[at] > 0)) continue;
          ports[p].law.inverse!(i[at], law2);
          g[at] = 1 / law2[1];
        } else {
          ports[p].law.evaluate(v[at], law2);
          g[at] = law2[1];
        }
      }
    }
    return g;
  }

  /** One cycle from `start` to `end`, with averages, and with their sensitivities if wanted. */
  private integrate(peak: number, drives: Float64Array, sensitive: boolean): void {
    work.cycles++;
    const { nx, np, nd, no, cols, width, omega, before, means, meansBy } = this;
    const {
      x,
      xn,
      vm,
      vConst,
      xConst,
      oConst,
      stageV: v,
      stageI: i,
      ohms,
      v0,
      begun,
      slopes,
      bends,
      active,
      jac,
      di,
    } = this.space;
    let { dx, dn } = this.space;
    const S = stages;
    const sp = S * np;
    const mainsAt = nx + 1 + nd;
    const portsAt = mainsAt + S;
    const lastRow = (S - 1) * nx;
    const allV = this.v;
    const allI = this.i;
    x.set(this.start);
    v.fill(-1e3);
    i.fill(0);
    slopes.fill(0);
    begun.fill(0);
    means.fill(0);
    if (sensitive) {
      dx.fill(0);
      for (let k = 0; k < nx; k++) dx[k * cols + k] = 1;
      meansBy.fill(0);
    }
    let n = 0;
    for (const { start, step, count, Y, V, O } of this.stretches) {
      for (let r = 0; r < sp; r++) {
        const row = r * width + nx;
        let s = V[row];
        for (let d = 0; d < nd; d++) s += V[row + 1 + d] * drives[d];
        vConst[r] = s;
      }
      for (let r = 0; r < nx; r++) {
        const row = (lastRow + r) * width + nx;
        let s = Y[row];
        for (let d = 0; d < nd; d++) s += Y[row + 1 + d] * drives[d];
        xConst[r] = s;
      }
      for (let r = 0; r < no; r++) {
        const row = r * width + nx;
        let s = O[row];
        for (let d = 0; d < nd; d++) s += O[row + 1 + d] * drives[d];
        oConst[r] = s;
      }
      for (let k = 0; k < count; k++, n++) {
        const t = start + k * step;
        for (let j = 0; j < S; j++) vm[j] = peak * Math.sin(omega * (t + nodes[j] * step));
        for (let r = 0; r < nx; r++) before[n * nx + r] = x[r];
        for (let p = 0; p < np; p++) {
          if (slopes[p] === 0) continue;
          const ended = i[p];
          const third = ended + (step / 3) * (slopes[p] + (step / 3) * bends[p]);
          const whole = ended + step * (slopes[p] + step * bends[p]);
          if (third > 0) i[p] = third;
          if (whole > 0) i[np + p] = whole;
        }
        for (let r = 0; r < sp; r++) {
          const row = r * width;
          let s = vConst[r];
          for (let c = 0; c < nx; c++) s += V[row + c] * x[c];
          for (let c = 0; c < S; c++) s += V[row + mainsAt + c] * vm[c];
          v0[r] = s;
        }
        const na = this.inverse ? this.conduct(V, portsAt) : this.conductByVolts(V, portsAt);
        for (let r = 0; r < nx; r++) {
          const row = (lastRow + r) * width;
          let s = xConst[r];
          for (let c = 0; c < nx; c++) s += Y[row + c] * x[c];
          for (let c = 0; c < S; c++) s += Y[row + mainsAt + c] * vm[c];
          for (let a = 0; a < na; a++) s += Y[row + portsAt + active[a]] * i[active[a]];
          xn[r] = s;
        }
        for (let r = 0; r < no; r++) {
          const row = r * width;
          let s = oConst[r];
          for (let c = 0; c < nx; c++) s += O[row + c] * x[c];
          for (let c = 0; c < S; c++) s += O[row + mainsAt + c] * vm[c];
          for (let a = 0; a < na; a++) s += O[row + portsAt + active[a]] * i[active[a]];
          means[r] += s;
        }
        for (let r = 0; r < sp; r++) {
          allV[n * sp + r] = v[r];
          allI[n * sp + r] = i[r];
        }
        if (sensitive) {
          if (na > 0) {
            // (R + Z) di = dv0, R the slopes of the laws
            for (let a = 0; a < na; a++) {
              const row = active[a] * width;
              for (let c = 0; c < cols; c++) {
                let s = c >= nx ? V[row + 1 + c] : 0;
                for (let m = 0; m < nx; m++) s += V[row + m] * dx[m * cols + c];
                di[a * cols + c] = s;
              }
              for (let b = 0; b < na; b++) jac[a * na + b] = -V[row + portsAt + active[b]];
              jac[a * na + a] += ohms[active[a]];
            }
            solveColumns(jac, di, na, cols);
          }
          for (let r = 0; r < no; r++) {
            const row = r * width;
            for (let c = 0; c < cols; c++) {
              let s = c >= nx ? O[row + 1 + c] : 0;
              for (let m = 0; m < nx; m++) s += O[row + m] * dx[m * cols + c];
              for (let a = 0; a < na; a++) s += O[row + portsAt + active[a]] * di[a * cols + c];
              meansBy[r * cols + c] += s;
            }
          }
          for (let r = 0; r < nx; r++) {
            const row = (lastRow + r) * width;
            for (let c = 0; c < cols; c++) {
              let s = c >= nx ? Y[row + 1 + c] : 0;
              for (let m = 0; m < nx; m++) s += Y[row + m] * dx[m * cols + c];
              for (let a = 0; a < na; a++) s += Y[row + portsAt + active[a]] * di[a * cols + c];
              dn[r * cols + c] = s;
            }
          }
          const swap = dx;
          dx = dn;
          dn = swap;
        }
        x.set(xn);
        // The next step begins where this one ended, and is looked for along the parabola through this one.
        for (let p = 0; p < np; p++) {
          v[p] = v[np + p];
          const ended = i[np + p];
          if (i[p] > 0 && ended > 0) {
            const slope = 1.5 * (ended - i[p]);
            const bend = begun[p] > 0 ? slope - 3 * (i[p] - begun[p]) : 0;
            slopes[p] = (slope + bend * (2 / 3)) / step;
            bends[p] = bend / (step * step);
          } else slopes[p] = 0;
          begun[p] = ended;
          i[p] = ended;
        }
      }
    }
    this.steps = n;
    work.steps += n;
    this.end.set(x);
    if (sensitive) this.endBy.set(dx);
  }

  /**
   * Currents of the ports at a step's stages: V(i) + Z i = v0, for those that conduct. In terms of currents this is nearly
   * straight, so that Newton needs two or three looks; a port that would carry no current is open, and its volts must then be below
   * those where it begins.
   * @param V the stretch's port rows, with minus the impedance from column `portsAt`
   * @returns how many are active; their numbers stand in `active`, their laws' slopes in `ohms`
   */
  private conduct(V: Float64Array, portsAt: number): number {
    const { np, ports, law2, width, onset } = this;
    const { v0, stageV: v, stageI: i, ohms, open, active, jac, f, drops } = this.space;
    const sp = v0.length;
    drops.fill(0);
    let na = 0;
    for (let r = 0; r < sp; r++) {
      const p = r < np ? r : r - np;
      if (i[r] > 0 || v0[r] > onset[p]) active[na++] = r;
      else v[r] = v0[r];
    }
    if (na === 0) return 0;
    // A port that begins: what its law alone would let through, and what its path alone, taken together.
    for (let a = 0; a < na; a++) {
      const r = active[a];
      if (i[r] > 0) continue;
      const p = r < np ? r : r - np;
      ports[p].law.evaluate(v0[r], law2);
      const byPath = (v0[r] - onset[p]) / -V[r * width + portsAt + r];
      const both = 1 / (1 / law2[0] + 1 / byPath);
      i[r] = both > leastAmps ? both : 1e-6;
    }
    for (let round = 0; round < 40; round++) {
      for (let iteration = 0; iteration < 30; iteration++) {
        work.newton++;
        for (let a = 0; a < na; a++) {
          const r = active[a];
          const row = r * width + portsAt;
          ports[r < np ? r : r - np].law.inverse!(i[r], law2);
          v[r] = law2[0];
          ohms[r] = law2[1];
          let s = v0[r] - law2[0];
          for (let b = 0; b < na; b++) {
            const z = V[row + active[b]];
            s += z * i[active[b]];
            jac[a * na + b] = -z;
          }
          open[a] = s + law2[0] + jac[a * na + a] * i[r];
          jac[a * na + a] += law2[1];
          f[a] = s;
        }
        solveColumns(jac, f, na, 1);
        let rough = false;
        for (let a = 0; a < na; a++) {
          const r = active[a];
          const now = i[r] + f[a];
          if (now > 0) {
            // Newton squares what is left: behind a step of some thousandths lie some millionths.
            if (Math.abs(f[a]) > 5e-3 * now + 1e-11) rough = true;
            i[r] = now;
            v[r] += ohms[r] * f[a];
          } else {
            rough = true;
            // Closed for good where its open volts would not begin it.
            i[r] = open[a] > onset[r < np ? r : r - np] ? 0.02 * i[r] : 0;
          }
        }
        if (!rough) break;
        // One that goes out takes no part any more.
        let kept = 0;
        for (let a = 0; a < na; a++) {
          const r = active[a];
          if (i[r] > leastAmps) active[kept++] = r;
          else {
            i[r] = 0;
            drops[r]++;
          }
        }
        if (kept < na) {
          na = kept;
          if (na === 0) break;
        }
      }
      // The open ones must be below where they begin.
      let total = na;
      for (let r = 0; r < sp; r++) {
        if (i[r] > 0) continue;
        const row = r * width + portsAt;
        let s = v0[r];
        for (let a = 0; a < na; a++) s += V[row + active[a]] * i[active[a]];
        v[r] = s;
        // One that went out again and again stands behind a leakage alone: what it carries is no current.
        if (s > onset[r < np ? r : r - np] + 1e-9 && drops[r] < MOST_DROPS) {
          i[r] = 2 * leastAmps;
          active[total++] = r;
        }
      }
      if (total === na) return na;
      na = total;
    }
    return na;
  }

  /**
   * Currents of the ports at a step's stages: v + Z i(v) = v0. Ports well in reverse carry nothing and are left out.
   * @param V the stretch's port rows, with minus the impedance from column `portsAt`
   * @returns how many are active; their numbers stand in `active`
   */
  private conductByVolts(V: Float64Array, portsAt: number): number {
    const { np, ports, law2, width } = this;
    const { v0, stageV: v, stageI: i, ohms, g, active, jac, f } = this.space;
    const sp = v0.length;
    let na = 0;
    for (let r = 0; r < sp; r++) {
      i[r] = 0;
      g[r] = 0;
      const { deep } = ports[r < np ? r : r - np];
      if (v0[r] > deep || v[r] > deep) {
        active[na++] = r;
        if (!(v[r] > deep && v[r] > -900)) v[r] = Math.min(v0[r], 0.2);
      }
    }
    if (na === 0) {
      v.set(v0);
      return 0;
    }
    for (let round = 0; round <= sp; round++) {
      let sizeBefore = Number.POSITIVE_INFINITY;
      for (let iteration = 0; iteration < 60; iteration++) {
        work.newton++;
        for (let a = 0; a < na; a++) {
          const r = active[a];
          ports[r < np ? r : r - np].law.evaluate(v[r], law2);
          i[r] = law2[0];
          g[r] = law2[1];
        }
        for (let a = 0; a < na; a++) {
          const r = active[a];
          const row = r * width + portsAt;
          let s = v0[r] - v[r];
          for (let b = 0; b < na; b++) {
            const q = active[b];
            const z = V[row + q];
            s += z * i[q];
            jac[a * na + b] = -z * g[q];
          }
          jac[a * na + a] += 1;
          f[a] = s;
        }
        solveColumns(jac, f, na, 1);
        let size = 0;
        for (let a = 0; a < na; a++) {
          const r = active[a];
          // Two sharp knees against each other: shorten.
          if (iteration > 12 && Math.abs(f[a]) > 0.5 * sizeBefore) f[a] *= 0.5;
          v[r] += f[a];
          const part = Math.abs(f[a]) / (1 + 1e-3 * Math.abs(v[r]));
          if (part > size) size = part;
        }
        sizeBefore = size;
        if (size < 3e-5) {
          // Currents to first order at the corrected volts.
          for (let a = 0; a < na; a++) {
            i[active[a]] += g[active[a]] * f[a];
            ohms[active[a]] = 1 / Math.max(g[active[a]], 1e-12);
          }
          break;
        }
      }
      if (na === sp) return na;
      // The ports left out must really be in reverse.
      let total = na;
      for (let r = 0; r < sp; r++) {
        let isActive = false;
        for (let a = 0; a < na; a++) if (active[a] === r) isActive = true;
        if (isActive) continue;
        const row = r * width + portsAt;
        let s = v0[r];
        for (let a = 0; a < na; a++) s += V[row + active[a]] * i[active[a]];
        v[r] = s;
        if (s > ports[r < np ? r : r - np].deep) active[total++] = r;
      }
      if (total === na) return na;
      na = total;
    }
    return na;
  }

  /** What the last cycle did, for readings. */
  record(peak: number, drives: Float64Array): CycleRecord {
    const { nx, np, nd, steps, omega, width } = this;
    const S = stages;
    const sp = S * np;
    const nc = 1 + nd;
    const count = steps * S;
    const time = new Float64Array(count);
    const weight = new Float64Array(count);
    const mains = new Float64Array(count);
    const x = new Float64Array(count * nx);
    const portsAt = nx + nc + S;
    let n = 0;
    for (const { start, step, count: steps, Y } of this.stretches) {
      for (let k = 0; k < steps; k++, n++) {
        for (let j = 0; j < S; j++) {
          const at = n * S + j;
          time[at] = start + (k + nodes[j]) * step;
          weight[at] = (weights[j] * step) / this.period;
          mains[at] = peak * Math.sin(omega * time[at]);
        }
        for (let r = 0; r < S * nx; r++) {
          const row = r * width;
          let s = Y[row + nx];
          for (let d = 0; d < nd; d++) s += Y[row + nx + 1 + d] * drives[d];
          for (let c = 0; c < nx; c++) s += Y[row + c] * this.before[n * nx + c];
          for (let c = 0; c < S; c++) s += Y[row + nx + nc + c] * mains[n * S + c];
          for (let q = 0; q < sp; q++) {
            const current = this.i[n * sp + q];
            if (current !== 0) s += Y[row + portsAt + q] * current;
          }
          x[n * S * nx + r] = s;
        }
      }
    }
    const endByStart = new Float64Array(nx * nx);
    for (let r = 0; r < nx; r++) {
      for (let c = 0; c < nx; c++) endByStart[r * nx + c] = this.endBy[r * this.cols + c];
    }
    return {
      count,
      time,
      weight,
      mains,
      x,
      v: this.v.slice(0, count * np),
      i: this.i.slice(0, count * np),
      stretches: this.stretches,
      endByStart,
    };
  }
}

function finite(values: Float64Array): boolean {
  for (let k = 0; k < values.length; k++) if (!Number.isFinite(values[k])) return false;
  return true;
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

/** M Y = R in place, R with `columns` columns; the sizes met most are written out. */
function solveColumns(m: Float64Array, r: Float64Array, n: number, columns: number): void {
  if (n === 1) {
    const inverse = 1 / m[0];
    for (let c = 0; c < columns; c++) r[c] *= inverse;
    return;
  }
  if (n === 2) {
    const [m0, m1, m2, m3] = [m[0], m[1], m[2], m[3]];
    const inverse = 1 / (m0 * m3 - m1 * m2);
    for (let c = 0; c < columns; c++) {
      const p = r[c];
      const q = r[columns + c];
      r[c] = (m3 * p - m1 * q) * inverse;
      r[columns + c] = (m0 * q - m2 * p) * inverse;
    }
    return;
  }
  solveDense(m, r, n, columns);
}
