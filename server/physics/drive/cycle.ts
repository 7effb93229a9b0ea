/**
 * One cycle of a sine on an output stage, quasi-static: at each sample the moving nodes and the transformer's volts are
 * found by Newton from Kirchhoff's laws. A sine meets the same grid volts rising and falling, so half a cycle, from the
 * lowest to the highest, is all of it.
 */
import { solveDense } from "./dense.ts";
import type { Stage } from "./stage.ts";

/** Steps from trough to crest; with both ends taken the trapezoid rule is that of a whole periodic cycle. */
export const STEPS = 20;

/** What one cycle at one drive gives. Per section: index times four for plate, screen, grid, cathode. */
export interface Cycle {
  /** Average amperes drawn from each port. */
  readonly portAmps: Float64Array;
  readonly plateAmps: Float64Array;
  readonly screenAmps: Float64Array;
  readonly plateWatts: Float64Array;
  readonly screenWatts: Float64Array;
  readonly plateAmpsPeak: Float64Array;
  readonly screenAmpsPeak: Float64Array;
  /** Highest plate volts to the cathode. */
  readonly plateVoltsPeak: Float64Array;
  readonly screenVoltsPeak: Float64Array;
  /** Highest grid volts to the cathode of any section. */
  gridVoltsPeak: number;
  /** Transformer volts at each step; primary of one turn. */
  readonly e: Float64Array;
  /** Mean of the ampere-turns (held by the core of a single-ended transformer). */
  ampereTurns: number;
  /** Power at the load, watts. */
  watts: number;
  solved: boolean;
}

export class CycleSolver {
  readonly stage: Stage;
  readonly result: Cycle;
  /** Solutions at each step, kept to start the next call from: nodes, then e. */
  private readonly memory: Float64Array[];
  private warm = false;
  private readonly x: Float64Array;
  private readonly f: Float64Array;
  private readonly jac: Float64Array;
  private readonly trial: Float64Array;
  private readonly out = new Float64Array(12);
  private readonly currents: Float64Array;
  /** Load at one turn; without a signal the transformer has no volts and is a short circuit. */
  private loadSiemens = 0;

  constructor(stage: Stage) {
    this.stage = stage;
    const n = stage.nodeCount + 1;
    const s = stage.sections.length;
    this.x = new Float64Array(n);
    this.x.set(stage.nodeVolts);
    this.f = new Float64Array(n);
    this.trial = new Float64Array(n);
    this.jac = new Float64Array(n * n);
    this.currents = new Float64Array(3 * s);
    this.memory = Array.from({ length: STEPS + 1 }, () => new Float64Array(n));
    this.result = {
      portAmps: new Float64Array(stage.portVolts.length),
      plateAmps: new Float64Array(s),
      screenAmps: new Float64Array(s),
      plateWatts: new Float64Array(s),
      screenWatts: new Float64Array(s),
      plateAmpsPeak: new Float64Array(s),
      screenAmpsPeak: new Float64Array(s),
      plateVoltsPeak: new Float64Array(s),
      screenVoltsPeak: new Float64Array(s),
      gridVoltsPeak: 0,
      e: new Float64Array(STEPS + 1),
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
    const { stage, result, x } = this;
    const { sections, branches } = stage;
    const n = stage.nodeCount;
    const {
      portAmps,
      plateAmps,
      screenAmps,
      plateWatts,
      screenWatts,
      plateAmpsPeak,
      screenAmpsPeak,
      plateVoltsPeak,
      screenVoltsPeak,
    } = result;
    portAmps.fill(0);
    plateAmps.fill(0);
    screenAmps.fill(0);
    plateWatts.fill(0);
    screenWatts.fill(0);
    plateAmpsPeak.fill(0);
    screenAmpsPeak.fill(0);
    plateVoltsPeak.fill(-Infinity);
    screenVoltsPeak.fill(-Infinity);
    result.gridVoltsPeak = -Infinity;
    result.solved = true;
    let power = 0;
    let turns = 0;
    // Without a signal every step is the same one.
    const steps = amplitude === 0 ? 0 : STEPS;
    this.loadSiemens = steps === 0 ? 1e4 : 1 / stage.loadOhms;
    for (let k = 0; k <= steps; k++) {
      const weight = steps === 0 ? 1 : (k === 0 || k === steps ? 0.5 : 1) / steps;
      const signal = steps === 0 ? 0 : -amplitude * Math.cos((Math.PI * k) / steps);
      if (this.warm && steps > 0) x.set(this.memory[k]);
      if (!this.newton(ports, signal, ampereTurns)) result.solved = false;
      this.memory[k].set(x);
      const e = x[n];
      result.e[k] = e;
      power += weight * e * e;
      for (let i = 0; i < sections.length; i++) {
        const section = sections[i];
        const cathode = section.cathode < 0 ? ports[-1 - section.cathode] : x[section.cathode];
        const grid =
          (section.grid < 0 ? ports[-1 - section.grid] : x[section.grid]) + section.side * signal - cathode;
        const plate = (section.plate < 0 ? ports[-1 - section.plate] : x[section.plate]) - cathode;
        const ip = this.currents[3 * i];
        const is = this.currents[3 * i + 1];
        plateAmps[i] += weight * ip;
        plateWatts[i] += weight * ip * plate;
        if (ip > plateAmpsPeak[i]) plateAmpsPeak[i] = ip;
        if (plate > plateVoltsPeak[i]) plateVoltsPeak[i] = plate;
        if (section.screen !== undefined) {
          const screen = (section.screen < 0 ? ports[-1 - section.screen] : x[section.screen]) - cathode;
          screenAmps[i] += weight * is;
          screenWatts[i] += weight * is * screen;
          if (is > screenAmpsPeak[i]) screenAmpsPeak[i] = is;
          if (screen > screenVoltsPeak[i]) screenVoltsPeak[i] = screen;
          if (section.screen < 0) portAmps[-1 - section.screen] += weight * is;
        }
        if (grid > result.gridVoltsPeak) result.gridVoltsPeak = grid;
        if (section.plate < 0) portAmps[-1 - section.plate] += weight * ip;
        if (section.cathode < 0) portAmps[-1 - section.cathode] -= weight * (ip + is);
      }
      for (const branch of branches) {
        const from = branch.from < 0 ? ports[-1 - branch.from] : x[branch.from];
        const to = branch.to < 0 ? ports[-1 - branch.to] : x[branch.to];
        const i = branch.siemens * (from - to - branch.turns * e);
        turns += weight * branch.turns * i;
        if (branch.from < 0) portAmps[-1 - branch.from] += weight * i;
        if (branch.to < 0) portAmps[-1 - branch.to] -= weight * i;
      }
    }
    this.warm ||= steps > 0;
    result.ampereTurns = turns;
    result.watts = (power / stage.loadOhms) * stage.delivered;
    return result;
  }

  /** Residual of Kirchhoff's laws at x, and the Jacobian when wanted. Amperes. */
  private residual(
    x: Float64Array,
    ports: Float64Array,
    signal: number,
    ampereTurns: number,
    wanted: boolean,
  ): number {
    const { stage, f, jac, out, currents } = this;
    const n = stage.nodeCount;
    const size = n + 1;
    f.fill(0);
    if (wanted) jac.fill(0);
    const e = x[n];
    // Row n: ampere-turns less what the load takes.
    f[n] = -e * this.loadSiemens - ampereTurns;
    if (wanted) jac[n * size + n] = -this.loadSiemens;
    for (const { from, to, siemens, turns } of stage.branches) {
      const i =
        siemens * ((from < 0 ? ports[-1 - from] : x[from]) - (to < 0 ? ports[-1 - to] : x[to]) - turns * e);
      if (from >= 0) f[from] -= i;
      if (to >= 0) f[to] += i;
      f[n] += turns * i;
      if (!wanted) continue;
      const t = siemens * turns;
      if (from >= 0) {
        jac[from * size + from] -= siemens;
        jac[from * size + n] += t;
        jac[n * size + from] += t;
        if (to >= 0) jac[from * size + to] += siemens;
      }
      if (to >= 0) {
        jac[to * size + to] -= siemens;
        jac[to * size + n] -= t;
        jac[n * size + to] -= t;
        if (from >= 0) jac[to * size + from] += siemens;
      }
      jac[n * size + n] -= t * turns;
    }
    for (let i = 0; i < stage.sections.length; i++) {
      const { law, side, grid, plate, screen, cathode } = stage.sections[i];
      const vk = cathode < 0 ? ports[-1 - cathode] : x[cathode];
      const vg = (grid < 0 ? ports[-1 - grid] : x[grid]) + side * signal - vk;
      const vp = (plate < 0 ? ports[-1 - plate] : x[plate]) - vk;
      const vs = screen === undefined ? 0 : (screen < 0 ? ports[-1 - screen] : x[screen]) - vk;
      law.evaluate(vg, vs, vp, out);
      const ip = out[0];
      const is = out[1];
      currents[3 * i] = ip;
      currents[3 * i + 1] = is;
      if (plate >= 0) {
        f[plate] -= ip;
        if (wanted) {
          jac[plate * size + plate] -= out[5];
          if (screen !== undefined && screen >= 0) jac[plate * size + screen] -= out[4];
          if (cathode >= 0) jac[plate * size + cathode] += out[3] + out[4] + out[5];
        }
      }
      if (screen !== undefined && screen >= 0) {
        f[screen] -= is;
        if (wanted) {
          jac[screen * size + screen] -= out[7];
          if (plate >= 0) jac[screen * size + plate] -= out[8];
          if (cathode >= 0) jac[screen * size + cathode] += out[6] + out[7] + out[8];
        }
      }
      if (cathode >= 0) {
        f[cathode] += ip + is;
        if (wanted) {
          if (plate >= 0) jac[cathode * size + plate] += out[5] + out[8];
          if (screen !== undefined && screen >= 0) jac[cathode * size + screen] += out[4] + out[7];
          jac[cathode * size + cathode] -= out[3] + out[4] + out[5] + out[6] + out[7] + out[8];
        }
      }
    }
    let norm = 0;
    for (let i = 0; i < size; i++) norm = Math.max(norm, Math.abs(f[i]));
    return norm;
  }

  /** Newton with halved steps; x is the start and the answer. */
  private newton(ports: Float64Array, signal: number, ampereTurns: number): boolean {
    const { x, f, jac, trial } = this;
    const size = this.stage.nodeCount + 1;
    let norm = this.residual(x, ports, signal, ampereTurns, true);
    for (let iteration = 0; iteration < 40; iteration++) {
      if (norm < 1e-7) return true;
      if (!solveDense(jac, f, size)) return false;
      let factor = 1;
      const step = Float64Array.from(f);
      for (let halving = 0; ; halving++) {
        for (let i = 0; i < size; i++) trial[i] = x[i] - factor * step[i];
        const next = this.residual(trial, ports, signal, ampereTurns, true);
        if (next < norm || halving === 12) {
          norm = next;
          break;
        }
        factor /= 2;
      }
      x.set(trial);
    }
    return norm < 1e-6;
  }
}
