/**
 * Steps of a cycle: the Radau IIA method (implicit, L-stable, stiffly accurate, so that a choke whose rectifiers have all let go
 * does no harm), with the linear part of a step eliminated beforehand. What is left of a step are the currents of the ports.
 */
import { solveDense } from "../linear/dense.ts";
import { doubles } from "../linear/slabs.ts";
import type { Multiport, Row } from "./multiport.ts";

/** Radau IIA, two stages, order three: E. Hairer, G. Wanner, Solving Ordinary Differential Equations II, table IV.5.5. */
export const stages = 2;
/** When a step's stages are, as parts of it. */
export const stageAt = [1 / 3, 1];
const tableau = [5 / 12, -1 / 12, 3 / 4, 1 / 4];
/** Their weights in an average over the step. */
export const stageWeights = [3 / 4, 1 / 4];

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
export interface Piece {
  readonly start: number;
  readonly step: number;
  readonly count: number;
}

/** Steps of different lengths that are kept. */
const mostKnown = 60;

/** Steps of a network, as long as they are asked for. */
export class Steps {
  /** Columns of a stretch's matrices, and where those of the mains and of the ports begin. */
  readonly width: number;
  readonly mainsAt: number;
  readonly portsAt: number;
  private readonly scratch: Float64Array;
  private readonly known = new Map<number, Stretch>();

  /**
   * @param observed quantities whose averages are told
   * @param period   of the mains, seconds
   */
  constructor(
    private readonly net: Multiport,
    private readonly observed: readonly Row[],
    private readonly period: number,
  ) {
    const { nx, nu, np } = net;
    this.mainsAt = nx + nu - 1;
    this.portsAt = this.mainsAt + stages;
    this.width = this.portsAt + stages * np;
    this.scratch = doubles((stages * nx) ** 2);
  }

  /** Matrices for a mesh. The short steps of a pulse are the same in every one. */
  along(pieces: readonly Piece[]): Stretch[] {
    const { known } = this;
    if (known.size > mostKnown) known.clear();
    return pieces.map((piece) => {
      // Steps that differ by rounding alone are one.
      const key = Math.round((piece.step / this.period) * 1e9);
      const made = this.make(piece, known.get(key));
      known.set(key, made);
      return made;
    });
  }

  private make({ start, step, count }: Piece, like?: Stretch): Stretch {
    if (like) return { Y: like.Y, V: like.V, O: like.O, step, start, count };
    const { width } = this;
    const no = this.observed.length;
    const { nx, np, A, B, E, Vx, Vu, Z, nu } = this.net;
    const S = stages;
    const sn = S * nx;
    const nc = nu - 1;
    const { mainsAt, portsAt } = this;
    // (1 - h a (x) A) Y = x + h a (x) (B u + E i)
    const W = this.scratch.fill(0);
    const Y = doubles(sn * width);
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
    const V = doubles(S * np * width);
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
    const O = doubles(no * width);
    for (let o = 0; o < no; o++) {
      const of = this.observed[o];
      for (let j = 0; j < S; j++) {
        const share = (stageWeights[j] * step) / this.period;
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

  /** Stage states by a rate added at each stage, for a stretch: s n x s n. */
  rates({ step }: Stretch): Float64Array {
    const { nx, A } = this.net;
    const sn = stages * nx;
    const W = doubles(sn * sn);
    const H = doubles(sn * sn);
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
}
