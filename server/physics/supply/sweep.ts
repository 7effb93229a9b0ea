/** One cycle of a network along a mesh, from a state to a state. */
import { solveColumns } from "../linear/dense.ts";
import { copyOf, doubles } from "../linear/slabs.ts";
import type { Multiport, Row } from "./multiport.ts";
import { type Port, Ports } from "./ports.ts";
import type { CycleRecord, Passed } from "./record.ts";
import { type Piece, Steps, type Stretch, stageAt, stages, stageWeights } from "./steps.ts";
import { work } from "./work.ts";

/** Goes through one cycle, along a mesh. */
export class Sweep implements Passed {
  steps = 0;
  /** Cycles gone through. */
  passes = 0;
  stretches: readonly Stretch[] = [];
  lengths = new Float64Array(0);
  /** Of each stage of the mesh: when it is, its weight in an average over the cycle, and the sine of the mains then. */
  private time = new Float64Array(0);
  private weight = new Float64Array(0);
  private sine = new Float64Array(0);
  before = new Float64Array(0);
  v = new Float64Array(0);
  i = new Float64Array(0);
  /** State at the cycle's end and averages of the observed; both by the state at its start and the drives, in `cols` columns. */
  readonly end: Float64Array;
  readonly means: Float64Array;
  readonly endBy: Float64Array;
  readonly meansBy: Float64Array;
  readonly cols: number;
  readonly ports: Ports;
  private readonly nx: number;
  private readonly np: number;
  private readonly nd: number;
  private readonly no: number;
  private readonly omega: number;
  private readonly matrices: Steps;
  private readonly space: {
    readonly x: Float64Array;
    readonly xn: Float64Array;
    readonly vm: Float64Array;
    readonly vConst: Float64Array;
    readonly xConst: Float64Array;
    readonly oConst: Float64Array;
    /** Of the ports' currents: at a step's start, and how they go on from its end. */
    readonly begun: Float64Array;
    readonly slopes: Float64Array;
    readonly bends: Float64Array;
    readonly dx: Float64Array;
    readonly dn: Float64Array;
    readonly di: Float64Array;
  };

  /**
   * @param observed quantities whose averages are told
   * @param period   of the mains, seconds
   */
  constructor(
    net: Multiport,
    ports: readonly Port[],
    observed: readonly Row[],
    private readonly period: number,
  ) {
    const { nx, np } = net;
    const nd = net.nu - 2;
    const no = observed.length;
    const cols = nx + nd;
    const sp = stages * np;
    this.omega = (2 * Math.PI) / period;
    this.nx = nx;
    this.np = np;
    this.nd = nd;
    this.no = no;
    this.cols = cols;
    this.matrices = new Steps(net, observed, period);
    this.ports = new Ports(ports, this.matrices.width, this.matrices.portsAt);
    this.end = doubles(nx);
    this.means = doubles(no);
    this.endBy = doubles(nx * cols);
    this.meansBy = doubles(no * cols);
    this.space = {
      x: doubles(nx),
      xn: doubles(nx),
      vm: doubles(stages),
      vConst: doubles(sp),
      xConst: doubles(nx),
      oConst: doubles(no),
      begun: doubles(np),
      slopes: doubles(np),
      bends: doubles(np),
      dx: doubles(nx * cols),
      dn: doubles(nx * cols),
      di: doubles(sp * cols),
    };
  }

  /** Go along another mesh from now on. */
  lay(pieces: readonly Piece[]): void {
    const { nx, np } = this;
    this.stretches = this.matrices.along(pieces);
    const steps = this.stretches.reduce((sum, piece) => sum + piece.count, 0);
    this.lengths = doubles(steps);
    this.time = doubles(steps * stages);
    this.weight = doubles(steps * stages);
    this.sine = doubles(steps * stages);
    let n = 0;
    for (const { start, step, count } of this.stretches) {
      this.lengths.fill(step, n, n + count);
      for (let k = 0; k < count; k++, n++) {
        for (let j = 0; j < stages; j++) {
          const at = n * stages + j;
          this.time[at] = start + (k + stageAt[j]) * step;
          this.weight[at] = (stageWeights[j] * step) / this.period;
          this.sine[at] = Math.sin(this.omega * this.time[at]);
        }
      }
    }
    if (this.before.length < (steps + 1) * nx) this.before = doubles((steps + 1) * nx);
    if (this.v.length < steps * stages * np) {
      this.v = doubles(steps * stages * np);
      this.i = doubles(steps * stages * np);
    }
  }

  /** Stage states by a rate added at each stage, for a stretch: s n x s n. */
  rates(stretch: Stretch): Float64Array {
    return this.matrices.rates(stretch);
  }

  /**
   * One cycle from a state to `end`, with averages, and with their sensitivities if wanted.
   * @param peak   volts of the mains' crest
   * @param drives amperes driven into each boundary node
   */
  run(start: Float64Array, peak: number, drives: Float64Array, sensitive: boolean): void {
    work.cycles++;
    this.passes++;
    const { nx, np, nd, no, cols, sine, before, means, meansBy, ports } = this;
    const { width, mainsAt, portsAt } = this.matrices;
    const { x, xn, vm, vConst, xConst, oConst, begun, slopes, bends, di } = this.space;
    const { v0, v, i, ohms, active, jac } = ports;
    let { dx, dn } = this.space;
    const S = stages;
    const sp = S * np;
    const lastRow = (S - 1) * nx;
    const allV = this.v;
    const allI = this.i;
    x.set(start);
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
    for (const { step, count, Y, V, O } of this.stretches) {
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
        for (let j = 0; j < S; j++) vm[j] = peak * sine[n * S + j];
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
        const na = ports.conduct(V);
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

  /** What the last cycle did, for readings. */
  record(peak: number, drives: Float64Array): CycleRecord {
    const { nx, np, nd, steps, time, weight, sine } = this;
    const { width, mainsAt, portsAt } = this.matrices;
    const S = stages;
    const sp = S * np;
    const count = steps * S;
    const mains = doubles(count);
    for (let k = 0; k < count; k++) mains[k] = peak * sine[k];
    const x = doubles(count * nx);
    let n = 0;
    for (const { count: steps, Y } of this.stretches) {
      for (let k = 0; k < steps; k++, n++) {
        for (let r = 0; r < S * nx; r++) {
          const row = r * width;
          let s = Y[row + nx];
          for (let d = 0; d < nd; d++) s += Y[row + nx + 1 + d] * drives[d];
          for (let c = 0; c < nx; c++) s += Y[row + c] * this.before[n * nx + c];
          for (let c = 0; c < S; c++) s += Y[row + mainsAt + c] * mains[n * S + c];
          for (let q = 0; q < sp; q++) {
            const current = this.i[n * sp + q];
            if (current !== 0) s += Y[row + portsAt + q] * current;
          }
          x[n * S * nx + r] = s;
        }
      }
    }
    const endByStart = doubles(nx * nx);
    for (let r = 0; r < nx; r++) {
      for (let c = 0; c < nx; c++) endByStart[r * nx + c] = this.endBy[r * this.cols + c];
    }
    return {
      count,
      time,
      weight,
      mains,
      x,
      v: copyOf(this.v, 0, count * np),
      i: copyOf(this.i, 0, count * np),
      stretches: this.stretches,
      endByStart,
    };
  }
}
