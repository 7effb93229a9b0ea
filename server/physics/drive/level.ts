/**
 * The stage at one drive level: the ports' volts and the cycle's average currents agree through the source resistances
 * (supply sag, cathode bias shifting under drive), and the amplitude meets its target. Solved by Broyden's method, begun
 * from the ports' slopes at idle.
 */
import { clipping } from "../../facts/practice.ts";
import { solveDense } from "../linear/dense.ts";
import { copyOf, doubles } from "../linear/slabs.ts";
import { type Cycle, CycleSolver, copyOfCycle } from "./cycle.ts";
import type { Stage } from "./stage.ts";

export interface Level {
  readonly amplitude: number;
  readonly cycle: Cycle;
  readonly ports: Float64Array;
  readonly solved: boolean;
}

/** Gain at the ends of the swing, the lesser, as a part of the gain from end to end. */
function flatness({ cycle, amplitude }: Level): number {
  const n = cycle.e.length - 1;
  const whole = (cycle.e[n] - cycle.e[0]) / (2 * amplitude);
  return Math.min(cycle.crestGain, cycle.troughGain) / whole;
}

/** A level whose arrays later runs of the solver do not write over. */
function keep({ amplitude, cycle, ports, solved }: Level): Level {
  return { amplitude, cycle: copyOfCycle(cycle), ports, solved };
}

interface Onset extends Level {
  readonly limit: "grid-current" | "clipping";
}

function onsetAt({ amplitude, cycle, ports, solved }: Level, limit: Onset["limit"]): Onset {
  return { amplitude, cycle, ports, solved, limit };
}

export class LevelSolver {
  readonly stage: Stage;
  private readonly solver: CycleSolver;
  /** Average port currents that go with the idle volts. */
  private readonly idleAmps: Float64Array;
  /** Unknowns: port volts, held ampere-turns, and the amplitude where it is sought. */
  private readonly x: Float64Array;
  /** Inverse of the residual's Jacobian, kept up by Broyden's rank-one updates. */
  private readonly inverse: Float64Array;
  private readonly scale: Float64Array;
  private readonly agreeVolts: number;
  /** The last two solutions. */
  private solvedAt: Float64Array | undefined;
  private before: Float64Array | undefined;

  /** @param agreeVolts volts within which ports are said to agree with their average currents */
  constructor(stage: Stage, agreeVolts = 0.02) {
    this.stage = stage;
    this.agreeVolts = agreeVolts;
    this.solver = new CycleSolver(stage);
    const p = stage.portVolts.length;
    const size = p + 2;
    const start = stage.portStart ?? stage.portVolts;
    this.x = doubles(size);
    this.x.set(start);
    this.x[p] = this.solver.run(start, 0, 0).ampereTurns;
    this.idleAmps = stage.portAmps ?? copyOf(this.solver.run(stage.portVolts, 0, 0).portAmps);
    this.scale = doubles(size).fill(1);
    this.scale[p] = 1e-3;
    this.inverse = this.startingInverse();
  }

  /** Idle without a signal: what the sheets call zero signal. */
  idle(): Level {
    return this.at(0);
  }

  /** @param amplitude volts of sine at each grid */
  at(amplitude: number): Level {
    const { x, before } = this;
    const last = x.length - 1;
    // Ports and core follow the level smoothly: start where the last two levels point.
    if (before && this.solvedAt !== undefined && before[last] !== this.solvedAt[last]) {
      const reach = (amplitude - this.solvedAt[last]) / (this.solvedAt[last] - before[last]);
      if (Math.abs(reach) <= 2) for (let i = 0; i < last; i++) x[i] += reach * (x[i] - before[i]);
    }
    x[last] = amplitude;
    return this.solve();
  }

  /** The amplitude at which the first grid just reaches its cathode. */
  atGridCurrent(): Level {
    const { stage, x } = this;
    let bias = Infinity;
    for (const section of stage.sections) {
      const volts = (node: number) => (node < 0 ? x[-1 - node] : stage.nodeVolts[node]);
      bias = Math.min(bias, volts(section.cathode) - volts(section.grid));
    }
    if (!(bias > 0)) return this.at(0);
    x[x.length - 1] = bias;
    return this.solve((cycle) => cycle.gridVoltsPeak);
  }

  /**
   * The drive that the stage takes: to the first grid reaching its cathode, or less where the output flattens first. It is
   * called clipped where the crest (or a single-ended stage's trough) gains less than a fifth as fast as the whole swing.
   */
  atOnset(): Onset {
    const full = keep(this.atGridCurrent());
    let high = full.amplitude;
    let flatHigh = flatness(full) - clipping.gainShare;
    if (!(flatHigh < 0) || !(high > 0)) return onsetAt(full, "grid-current");
    let low = 0;
    let flatLow = 1 - clipping.gainShare;
    let best = full;
    // False position, halved on the side that stays (Illinois).
    let side = 0;
    for (let i = 0; i < 12 && high - low > 0.01 * full.amplitude; i++) {
      const next = high - (flatHigh * (high - low)) / (flatHigh - flatLow);
      const middle = this.at(next);
      const flat = flatness(middle) - clipping.gainShare;
      if (flat >= 0) {
        low = next;
        flatLow = flat;
        if (side === 1) flatHigh /= 2;
        side = 1;
        best = keep(middle);
      } else {
        high = next;
        flatHigh = flat;
        if (side === -1) flatLow /= 2;
        side = -1;
      }
      if (Math.abs(flat) < 0.01) {
        best = keep(middle);
        break;
      }
    }
    return onsetAt(best, "clipping");
  }

  /** @param target zero where the amplitude is right; left out where it is given */
  private solve(target?: (cycle: Cycle) => number): Level {
    const { stage, solver, x, inverse, scale } = this;
    const p = stage.portVolts.length;
    const size = p + 2;
    let f = this.residual(target);
    let solved = false;
    for (let iteration = 0; iteration < 40; iteration++) {
      let most = 0;
      for (let i = 0; i < size; i++) most = Math.max(most, Math.abs(f[i]) / scale[i]);
      if (most < this.agreeVolts) {
        solved = true;
        break;
      }
      const step = doubles(size);
      for (let i = 0; i < size; i++) for (let j = 0; j < size; j++) step[i] -= inverse[i * size + j] * f[j];
      if (!target) step[size - 1] = 0;
      // A step of more than a third of a supply is not to be believed.
      let shrink = 1;
      for (let i = 0; i < p; i++) {
        const room = Math.max(5, 0.3 * Math.abs(x[i]));
        shrink = Math.min(shrink, room / Math.max(Math.abs(step[i]), 1e-12));
      }
      for (let i = 0; i < size; i++) {
        step[i] *= shrink;
        x[i] += step[i];
      }
      if (x[size - 1] < 0) x[size - 1] = 0;
      const next = this.residual(target);
      // Broyden (1965), second of his forms kept as an inverse: H += (s - H y) s'H / (s'H y).
      const change = doubles(size);
      for (let i = 0; i < size; i++) {
        let hy = 0;
        for (let j = 0; j < size; j++) hy += inverse[i * size + j] * (next[j] - f[j]);
        change[i] = hy;
      }
      let denominator = 0;
      for (let i = 0; i < size; i++) denominator += step[i] * change[i];
      if (Math.abs(denominator) > 1e-18) {
        const left = doubles(size);
        for (let j = 0; j < size; j++)
          for (let i = 0; i < size; i++) left[j] += step[i] * inverse[i * size + j];
        for (let i = 0; i < size; i++) {
          const gain = (step[i] - change[i]) / denominator;
          for (let j = 0; j < size; j++) inverse[i * size + j] += gain * left[j];
        }
      }
      f = next;
    }
    this.before = this.solvedAt;
    this.solvedAt = copyOf(x);
    return {
      amplitude: x[size - 1],
      cycle: solver.result,
      ports: copyOf(x, 0, p),
      solved: solved && solver.result.solved,
    };
  }

  private residual(target?: (cycle: Cycle) => number): Float64Array {
    const { stage, x, idleAmps } = this;
    const p = stage.portVolts.length;
    const cycle = this.solver.run(x.subarray(0, p), Math.max(x[p + 1], 0), x[p]);
    const f = doubles(p + 2);
    for (let i = 0; i < p; i++) {
      let volts = stage.portVolts[i];
      for (let j = 0; j < p; j++) volts -= stage.portOhms[i * p + j] * (cycle.portAmps[j] - idleAmps[j]);
      f[i] = x[i] - volts;
    }
    f[p] = x[p] - cycle.ampereTurns;
    f[p + 1] = target ? target(cycle) : 0;
    return f;
  }

  /** Inverse of the Jacobian at idle by finite differences. */
  private startingInverse(): Float64Array {
    const p = this.stage.portVolts.length;
    const size = p + 2;
    const start = copyOf(this.x);
    const base = this.residual();
    const jacobian = doubles(size * size);
    for (let j = 0; j < size; j++) {
      const delta = j === p ? 1e-4 : 0.1;
      this.x[j] += delta;
      const moved = j === size - 1 ? base : this.residual();
      for (let i = 0; i < size; i++)
        jacobian[i * size + j] = j === size - 1 ? 0 : (moved[i] - base[i]) / delta;
      this.x.set(start);
    }
    jacobian[size * size - 1] = 1;
    const inverse = doubles(size * size);
    for (let j = 0; j < size; j++) {
      const column = doubles(size);
      column[j] = 1;
      const copy = copyOf(jacobian);
      if (!solveDense(copy, column, size)) column[j] = 1;
      for (let i = 0; i < size; i++) inverse[i * size + j] = column[i];
    }
    return inverse;
  }
}
