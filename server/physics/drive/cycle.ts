/**
 * One cycle of a sine on an output stage, quasi-static: at each sample the moving nodes and the transformer's volts are
 * found by Newton from Kirchhoff's laws. A sine meets the same grid volts rising and falling, so half a cycle, from the
 * lowest to the highest, is all of it; and a symmetrical push-pull stage shows in the quarter from the lowest to the
 * middle what its other side does in the next.
 */
import type { SectionLaw } from "../device.ts";
import { solveDense } from "../linear/dense.ts";
import { copyOf, doubles } from "../linear/slabs.ts";
import { type Mirror, mirrorOf } from "./mirror.ts";
import type { Stage } from "./stage.ts";

/** Steps from trough to crest, even; with both ends taken the trapezoid rule is that of a whole periodic cycle. */
export const STEPS = 12;

/** Kirchhoff's laws are met within this, amperes. */
const BALANCE_AMPS = 1e-6;

/** What one cycle at one drive gives, by section. */
export interface Cycle {
  /** Average amperes drawn from each port. */
  readonly portAmps: Float64Array;
  readonly plateAmps: Float64Array;
  readonly screenAmps: Float64Array;
  readonly plateWatts: Float64Array;
  readonly screenWatts: Float64Array;
  readonly plateAmpsPeak: Float64Array;
  readonly screenAmpsPeak: Float64Array;
  /** Highest plate and screen volts to the cathode. */
  readonly plateVoltsPeak: Float64Array;
  readonly screenVoltsPeak: Float64Array;
  /** Mean square of each branch's current, A^2. */
  readonly branchSquares: Float64Array;
  /** Highest grid volts to the cathode of any section. */
  gridVoltsPeak: number;
  /** Transformer volts at each step from trough to crest; primary of one turn. */
  readonly e: Float64Array;
  /** Transformer volts per volt of signal at the two ends of the swing. */
  troughGain: number;
  crestGain: number;
  /** Mean of the ampere-turns (held by the core of a single-ended transformer). */
  ampereTurns: number;
  /** Power at the load, watts. */
  watts: number;
  solved: boolean;
}

/** What the next run of the solver does not write over. */
export function copyOfCycle(cycle: Cycle): Cycle {
  return {
    portAmps: copyOf(cycle.portAmps),
    plateAmps: copyOf(cycle.plateAmps),
    screenAmps: copyOf(cycle.screenAmps),
    plateWatts: copyOf(cycle.plateWatts),
    screenWatts: copyOf(cycle.screenWatts),
    plateAmpsPeak: copyOf(cycle.plateAmpsPeak),
    screenAmpsPeak: copyOf(cycle.screenAmpsPeak),
    plateVoltsPeak: copyOf(cycle.plateVoltsPeak),
    screenVoltsPeak: copyOf(cycle.screenVoltsPeak),
    branchSquares: copyOf(cycle.branchSquares),
    gridVoltsPeak: cycle.gridVoltsPeak,
    e: copyOf(cycle.e),
    troughGain: cycle.troughGain,
    crestGain: cycle.crestGain,
    ampereTurns: cycle.ampereTurns,
    watts: cycle.watts,
    solved: cycle.solved,
  };
}

export class CycleSolver {
  readonly result: Cycle;
  /** Everything of the stage in flat arrays: this is the innermost loop of the program's drive. */
  private readonly n: number;
  private readonly laws: readonly SectionLaw[];
  private readonly side: Float64Array;
  private readonly grid: Int32Array;
  private readonly plate: Int32Array;
  /** A triode's screen is given as its cathode, and draws nothing. */
  private readonly screen: Int32Array;
  private readonly hasScreen: Uint8Array;
  private readonly cathode: Int32Array;
  private readonly from: Int32Array;
  private readonly to: Int32Array;
  private readonly siemens: Float64Array;
  private readonly turns: Float64Array;
  private readonly loadSiemensFull: number;
  private readonly delivered: number;
  /** Of a symmetrical stage. */
  private readonly mirror: Mirror | undefined;
  /** Volts: moving nodes, e, then ports. Nodes below zero index from the end of the first two. */
  private readonly v: Float64Array;
  private readonly trial: Float64Array;
  private readonly f: Float64Array;
  private readonly jac: Float64Array;
  private readonly step: Float64Array;
  private readonly out = new Float64Array(12);
  private readonly plateNow: Float64Array;
  private readonly screenNow: Float64Array;
  /** Slopes of plate and screen current by grid volts at the last residual. */
  private readonly plateByGrid: Float64Array;
  private readonly screenByGrid: Float64Array;
  /** Solutions at each step, to start the next call from. */
  private readonly memory: readonly Float64Array[];
  /** Amplitude that they belong to; 0 before the first. */
  private warm = 0;
  /** Load at one turn; without a signal the transformer has no volts and is a short circuit. */
  private loadSiemens = 0;

  constructor(stage: Stage) {
    const n = stage.nodeCount;
    const s = stage.sections.length;
    const p = stage.portVolts.length;
    /** Ports stand behind the moving nodes and e. */
    const place = (node: number) => (node < 0 ? n - node : node);
    const places = (nodes: readonly number[]) => Int32Array.from(nodes, place);
    this.n = n;
    this.laws = stage.sections.map((section) => section.law);
    this.side = Float64Array.from(stage.sections, (section) => section.side);
    this.grid = places(stage.sections.map((section) => section.grid));
    this.plate = places(stage.sections.map((section) => section.plate));
    this.cathode = places(stage.sections.map((section) => section.cathode));
    this.screen = places(stage.sections.map((section) => section.screen ?? section.cathode));
    this.hasScreen = Uint8Array.from(stage.sections, (section) => (section.screen === undefined ? 0 : 1));
    this.from = places(stage.branches.map((branch) => branch.from));
    this.to = places(stage.branches.map((branch) => branch.to));
    this.siemens = Float64Array.from(stage.branches, (branch) => branch.siemens);
    this.turns = Float64Array.from(stage.branches, (branch) => branch.turns);
    this.loadSiemensFull = 1 / stage.loadOhms;
    this.delivered = stage.delivered;
    this.mirror = mirrorOf(stage);
    const size = n + 1;
    this.v = doubles(size + p);
    this.v.set(stage.nodeVolts);
    this.trial = doubles(size + p);
    this.f = doubles(size);
    this.step = doubles(size);
    this.jac = doubles(size * size);
    this.plateNow = doubles(s);
    this.screenNow = doubles(s);
    this.plateByGrid = doubles(s);
    this.screenByGrid = doubles(s);
    this.memory = Array.from({ length: STEPS + 1 }, () => doubles(size));
    this.result = {
      portAmps: doubles(p),
      plateAmps: doubles(s),
      screenAmps: doubles(s),
      plateWatts: doubles(s),
      screenWatts: doubles(s),
      plateAmpsPeak: doubles(s),
      screenAmpsPeak: doubles(s),
      plateVoltsPeak: doubles(s),
      screenVoltsPeak: doubles(s),
      branchSquares: doubles(stage.branches.length),
      gridVoltsPeak: 0,
      e: doubles(STEPS + 1),
      troughGain: 0,
      crestGain: 0,
      ampereTurns: 0,
      watts: 0,
      solved: true,
    };
  }

  /**
   * @param ports       volts of the ports, held over the cycle
   * @param amplitude   volts of the sine at each grid
   * @param ampereTurns mean that the core holds: the load sees only what differs from it
   */
  run(ports: Float64Array, amplitude: number, ampereTurns: number): Cycle {
    const { n, v, trial, result, memory } = this;
    const size = n + 1;
    v.set(ports, size);
    trial.set(ports, size);
    this.clear();
    const still = amplitude === 0;
    const mirrored = !still && this.mirror !== undefined && ampereTurns * ampereTurns < 1e-12;
    const steps = still ? 0 : mirrored ? STEPS / 2 : STEPS;
    this.loadSiemens = still ? 1e4 : this.loadSiemensFull;
    // Another amplitude: the swing about the middle of the last one, drawn out or in.
    if (!still && this.warm > 0 && this.warm !== amplitude) {
      const ratio = amplitude / this.warm;
      const middle = memory[STEPS / 2];
      for (let k = 0; k <= steps; k++) {
        if (k === STEPS / 2) continue;
        for (let i = 0; i < size; i++) memory[k][i] = middle[i] + ratio * (memory[k][i] - middle[i]);
      }
    }
    for (let k = 0; k <= steps; k++) {
      const weight = still ? 1 : (k === 0 || k === steps ? 0.5 : 1) / STEPS;
      const signal = still ? 0 : -amplitude * Math.cos((Math.PI * k) / STEPS);
      const kept = memory[k];
      if (this.warm > 0 && !still) for (let i = 0; i < size; i++) v[i] = kept[i];
      if (!this.newton(signal, ampereTurns)) result.solved = false;
      if (!still) for (let i = 0; i < size; i++) kept[i] = v[i];
      result.e[k] = v[n];
      if (!still && k === 0) result.troughGain = this.gain();
      if (k === STEPS) result.crestGain = this.gain();
      this.gather(signal, weight, mirrored);
    }
    if (!still) this.warm = amplitude;
    if (mirrored) result.crestGain = result.troughGain;
    if (mirrored) for (let k = 0; k < steps; k++) result.e[STEPS - k] = -result.e[k];
    let power = 0;
    for (let k = 0; !still && k <= STEPS; k++) {
      power += ((k === 0 || k === STEPS ? 0.5 : 1) / STEPS) * result.e[k] * result.e[k];
    }
    result.watts = power * this.loadSiemensFull * this.delivered;
    return result;
  }

  private clear(): void {
    const { result } = this;
    result.portAmps.fill(0);
    result.plateAmps.fill(0);
    result.screenAmps.fill(0);
    result.plateWatts.fill(0);
    result.screenWatts.fill(0);
    result.plateAmpsPeak.fill(0);
    result.screenAmpsPeak.fill(0);
    result.plateVoltsPeak.fill(-Infinity);
    result.screenVoltsPeak.fill(-Infinity);
    result.branchSquares.fill(0);
    result.gridVoltsPeak = -Infinity;
    result.ampereTurns = 0;
    result.solved = true;
  }

  /** Add a solved step to the averages; of a mirrored stage also the step that is its image. */
  private gather(signal: number, weight: number, mirrored: boolean): void {
    const { n, v, result, side, grid, plate, screen, cathode, hasScreen } = this;
    const size = n + 1;
    const mirror = mirrored ? this.mirror : undefined;
    const draw = (place: number, amps: number) => {
      if (place < size) return;
      result.portAmps[place - size] += amps;
      if (mirror) result.portAmps[mirror.ports[place - size]] += amps;
    };
    for (let i = 0; i < this.laws.length; i++) {
      const vk = v[cathode[i]];
      const vg = v[grid[i]] + side[i] * signal - vk;
      const vp = v[plate[i]] - vk;
      const vs = v[screen[i]] - vk;
      const ip = this.plateNow[i];
      const is = this.screenNow[i];
      const withScreen = hasScreen[i] === 1;
      if (vg > result.gridVoltsPeak) result.gridVoltsPeak = vg;
      this.tally(i, weight, ip, is, vp, vs, withScreen);
      if (mirror) this.tally(mirror.sections[i], weight, ip, is, vp, vs, withScreen);
      draw(plate[i], weight * ip);
      if (withScreen) draw(screen[i], weight * is);
      draw(cathode[i], -weight * (ip + is));
    }
    for (let b = 0; b < this.siemens.length; b++) {
      const i = this.siemens[b] * (v[this.from[b]] - v[this.to[b]] - this.turns[b] * v[n]);
      if (!mirror) result.ampereTurns += weight * this.turns[b] * i;
      result.branchSquares[b] += weight * i * i;
      if (mirror) result.branchSquares[mirror.branches[b]] += weight * i * i;
      draw(this.from[b], weight * i);
      draw(this.to[b], -weight * i);
    }
  }

  private tally(
    i: number,
    weight: number,
    ip: number,
    is: number,
    vp: number,
    vs: number,
    withScreen: boolean,
  ): void {
    const { result } = this;
    result.plateAmps[i] += weight * ip;
    result.plateWatts[i] += weight * ip * vp;
    if (ip > result.plateAmpsPeak[i]) result.plateAmpsPeak[i] = ip;
    if (vp > result.plateVoltsPeak[i]) result.plateVoltsPeak[i] = vp;
    if (!withScreen) return;
    result.screenAmps[i] += weight * is;
    result.screenWatts[i] += weight * is * vs;
    if (is > result.screenAmpsPeak[i]) result.screenAmpsPeak[i] = is;
    if (vs > result.screenVoltsPeak[i]) result.screenVoltsPeak[i] = vs;
  }

  /** Residual of Kirchhoff's laws at x, amperes, into `f`, and its Jacobian. @returns the largest. */
  private residual(x: Float64Array, signal: number, ampereTurns: number): number {
    const { n, f, jac, out, from, to, siemens, turns, side, grid, plate, screen, cathode, hasScreen } = this;
    const size = n + 1;
    for (let i = 0; i < size; i++) f[i] = 0;
    for (let i = 0; i < size * size; i++) jac[i] = 0;
    const e = x[n];
    // Row n: ampere-turns less what the load takes.
    f[n] = -e * this.loadSiemens - ampereTurns;
    let last = -this.loadSiemens;
    for (let b = 0; b < siemens.length; b++) {
      const a = from[b];
      const c = to[b];
      const g = siemens[b];
      const t = g * turns[b];
      const i = g * (x[a] - x[c]) - t * e;
      f[n] += turns[b] * i;
      last -= t * turns[b];
      if (a < n) {
        f[a] -= i;
        jac[a * size + a] -= g;
        jac[a * size + n] += t;
        jac[n * size + a] += t;
        if (c < n) jac[a * size + c] += g;
      }
      if (c < n) {
        f[c] += i;
        jac[c * size + c] -= g;
        jac[c * size + n] -= t;
        jac[n * size + c] -= t;
        if (a < n) jac[c * size + a] += g;
      }
    }
    jac[n * size + n] = last;
    for (let i = 0; i < this.laws.length; i++) {
      const p = plate[i];
      const s = screen[i];
      const k = cathode[i];
      const vk = x[k];
      this.laws[i].evaluate(x[grid[i]] + side[i] * signal - vk, x[s] - vk, x[p] - vk, out);
      const ip = out[0];
      const is = out[1];
      this.plateNow[i] = ip;
      this.screenNow[i] = is;
      this.plateByGrid[i] = side[i] * out[3];
      this.screenByGrid[i] = side[i] * out[6];
      const moves = hasScreen[i] === 1 && s < n;
      if (p < n) {
        f[p] -= ip;
        jac[p * size + p] -= out[5];
        if (moves) jac[p * size + s] -= out[4];
        if (k < n) jac[p * size + k] += out[3] + out[4] + out[5];
      }
      if (moves) {
        f[s] -= is;
        jac[s * size + s] -= out[7];
        if (p < n) jac[s * size + p] -= out[8];
        if (k < n) jac[s * size + k] += out[6] + out[7] + out[8];
      }
      if (k < n) {
        f[k] += ip + is;
        if (p < n) jac[k * size + p] += out[5] + out[8];
        if (moves) jac[k * size + s] += out[4] + out[7];
        jac[k * size + k] -= out[3] + out[4] + out[5] + out[6] + out[7] + out[8];
      }
    }
    let norm = 0;
    for (let i = 0; i < size; i++) {
      const one = f[i] < 0 ? -f[i] : f[i];
      if (!(one <= norm)) norm = one;
    }
    return norm;
  }

  /** Transformer volts per volt of signal at the point just solved: the Jacobian there stands from its last residual. */
  private gain(): number {
    const { n, step, plate, screen, cathode, hasScreen } = this;
    step.fill(0);
    for (let i = 0; i < this.laws.length; i++) {
      const ip = this.plateByGrid[i];
      const is = this.screenByGrid[i];
      if (plate[i] < n) step[plate[i]] += ip;
      if (hasScreen[i] === 1 && screen[i] < n) step[screen[i]] += is;
      if (cathode[i] < n) step[cathode[i]] -= ip + is;
    }
    return solveDense(this.jac, step, n + 1) ? step[n] : Number.NaN;
  }

  /** Newton with halved steps; `v` is the start and the answer. */
  private newton(signal: number, ampereTurns: number): boolean {
    const { v, f, jac, trial, step } = this;
    const size = this.n + 1;
    let norm = this.residual(v, signal, ampereTurns);
    for (let iteration = 0; iteration < 40; iteration++) {
      if (norm < BALANCE_AMPS) return true;
      for (let i = 0; i < size; i++) step[i] = f[i];
      if (!solveDense(jac, step, size)) return false;
      let factor = 1;
      for (let halving = 0; ; halving++) {
        for (let i = 0; i < size; i++) trial[i] = v[i] - factor * step[i];
        const next = this.residual(trial, signal, ampereTurns);
        if (next < norm || halving === 12) {
          norm = next;
          break;
        }
        factor /= 2;
      }
      for (let i = 0; i < size; i++) v[i] = trial[i];
    }
    return norm < 10 * BALANCE_AMPS;
  }
}
