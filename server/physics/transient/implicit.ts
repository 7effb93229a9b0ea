/**
 * The robust way to follow a discharge: implicit steps, each solved to the end by Newton's method, growing with the time that has
 * gone by. Singly diagonally implicit Runge-Kutta, two stages, order two, L-stable: R. Alexander, SIAM J. Numer. Anal. 14, 1977.
 * It goes where a method that solves only linear equations does not: through the moments when valves and diodes let go.
 */
import { newtonFrom, solveDc } from "../dc/newton.ts";
import { DcSystem } from "../dc/system.ts";
import type { DcDevice } from "../device.ts";
import { doubles } from "../linear/slabs.ts";
import { companion } from "./companion.ts";
import type { Capacitance } from "./network.ts";

const GAMMA = 1 - Math.SQRT1_2;
/** Charges fall ever more slowly: a quarter more for each step. */
const STEP_GROWTH = 1.25;
/** A step's part of the time gone by, which such a growth comes to. */
const SHARE = 1 - 1 / STEP_GROWTH;

export class ImplicitSteps {
  seconds: number;
  readonly x: Float64Array;
  private step: number;
  private readonly system: DcSystem;
  private readonly capacitances: readonly Capacitance[];
  /** Volts that each capacitor counts from in a stage, and the seconds of the stage. */
  private readonly base: Float64Array;
  private readonly stage = { seconds: 1 };

  /**
   * @param devices whatever conducts; their unknowns come in the order of `x`
   * @param x       node volts and branch currents where it goes on from; taken over
   */
  constructor(
    devices: readonly DcDevice[],
    capacitances: readonly Capacitance[],
    nodeCount: number,
    x: Float64Array,
    seconds: number,
    firstStep: number,
  ) {
    this.x = x;
    this.seconds = seconds;
    this.capacitances = capacitances;
    this.base = doubles(capacitances.length);
    this.step = Math.max(firstStep, SHARE * seconds);
    const companions = capacitances.map((each, c) => companion(each, this.base, c, this.stage));
    this.system = new DcSystem([...devices, ...companions], nodeCount, new Set(), new Set());
  }

  /** One step forward. @returns false where no solution is found */
  advance(): boolean {
    const { capacitances, base, step } = this;
    const before = Float64Array.from(capacitances, (_, c) => this.across(c));
    this.stage.seconds = GAMMA * step;
    base.set(before);
    if (!this.settle()) return false;
    // The second stage counts from where the first one's slope leads.
    for (let c = 0; c < base.length; c++)
      base[c] = before[c] + ((1 - GAMMA) / GAMMA) * (this.across(c) - before[c]);
    if (!this.settle()) return false;
    this.seconds += step;
    this.step *= STEP_GROWTH;
    return true;
  }

  private across(c: number): number {
    const [a, b] = this.capacitances[c].nodes;
    return (a < 0 ? 0 : this.x[a]) - (b < 0 ? 0 : this.x[b]);
  }

  private settle(): boolean {
    return newtonFrom(this.system, this.x) || solveDc(this.system, this.x).converged;
  }
}
