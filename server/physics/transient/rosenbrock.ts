/**
 * Stiff integration of M x' = -i(x), M constant and perhaps singular: the method RODAS3 of A. Sandu, J. G. Verwer and others
 * (Atmospheric Environment 31, 1997: "Benchmarking stiff ODE solvers for atmospheric chemistry problems II"). Rosenbrock, four stages
 * with one factorisation, order three with an error estimate of order two, L-stable and stiffly accurate: what no capacitor
 * holds stays where the currents balance.
 */

import { doubles } from "../linear/slabs.ts";
import type { TransientNetwork } from "./network.ts";

const GAMMA = 0.5;
/** Steps are kept within these parts of one another. */
const LEAST_CHANGE = 0.2;
const MOST_CHANGE = 6;
const CAUTION = 0.9;
const LEAST_STEP = 1e-9;

export class Integrator {
  readonly x: Float64Array;
  seconds = 0;
  private readonly network: TransientNetwork;
  private readonly u: readonly Float64Array[];
  private readonly next: Float64Array;
  private readonly right: Float64Array;
  private readonly charge: Float64Array;
  private step: number;
  private rejected = false;

  /**
   * @param x     where it starts, currents balanced where no capacitor holds; taken over
   * @param error how far a step missed, of its estimate at the end of it, in parts of what is allowed
   */
  constructor(
    network: TransientNetwork,
    x: Float64Array,
    firstStep: number,
    private readonly error: (x: Float64Array, estimate: Float64Array) => number,
  ) {
    this.network = network;
    this.x = x;
    this.step = firstStep;
    this.u = Array.from({ length: 4 }, () => doubles(network.size));
    this.next = doubles(network.size);
    this.right = doubles(network.size);
    this.charge = doubles(network.size);
  }

  /** One step forward, as long as the error allows. @returns false where none is small enough */
  advance(): boolean {
    const { network, x, next } = this;
    for (; this.step > LEAST_STEP; this.rejected = true) {
      const { step } = this;
      const missed = this.try(step) ? this.error(next, this.u[3]) : Number.NaN;
      if (!(missed < Number.POSITIVE_INFINITY)) {
        this.step = LEAST_CHANGE * step;
        continue;
      }
      const most = this.rejected ? 1 : MOST_CHANGE;
      const change = Math.min(most, Math.max(LEAST_CHANGE, CAUTION * missed ** (-1 / 3)));
      this.step = step * change;
      if (missed > 1) continue;
      for (let i = 0; i < network.size; i++) x[i] = next[i];
      this.seconds += step;
      this.rejected = false;
      return true;
    }
    return false;
  }

  /** x at the end of a step into `next`, the estimate of its error into the last stage. */
  private try(step: number): boolean {
    const { network, x, next, right, charge, u } = this;
    const { size } = network;
    const [u1, u2, u3, u4] = u;
    // The first two stages stand at the same place.
    if (!network.evaluate(x, right, 1 / (GAMMA * step))) return false;
    for (let i = 0; i < size; i++) right[i] = -right[i];
    network.solve(right, u1);
    charge.fill(0);
    network.addCharge(u1, 1 / step, charge);
    for (let i = 0; i < size; i++) next[i] = right[i] + 4 * charge[i];
    network.solve(next, u2);
    network.addCharge(u2, -1 / step, charge);
    for (let i = 0; i < size; i++) next[i] = x[i] + 2 * u1[i];
    network.evaluate(next, right);
    for (let i = 0; i < size; i++) right[i] = charge[i] - right[i];
    network.solve(right, u3);
    network.addCharge(u3, -8 / (3 * step), charge);
    for (let i = 0; i < size; i++) next[i] += u3[i];
    network.evaluate(next, right);
    for (let i = 0; i < size; i++) right[i] = charge[i] - right[i];
    network.solve(right, u4);
    for (let i = 0; i < size; i++) next[i] += u4[i];
    return true;
  }
}
