/** The ports of a network's rectifiers: the only part of a step that is not linear. */
import type { DiodeLaw } from "../device.ts";
import { solveColumns } from "../linear/dense.ts";
import { doubles, integers } from "../linear/slabs.ts";
import type { CycleRecord } from "./record.ts";
import { stages } from "./steps.ts";
import { work } from "./work.ts";

export interface Port {
  readonly law: DiodeLaw;
  /** Volts at which it begins to conduct, for the mesh. */
  readonly knee: number;
  /** Below these volts it carries nothing. */
  readonly deep: number;
}

/** What is less is no current. */
const leastAmps = 1e-9;
/** One that goes out more often while a step is solved stays out. */
const mostDrops = 3;

/** The rectifying ports of a network, and what they carry at the stages of a step. */
export class Ports {
  /** Every port's law can be turned round. */
  private readonly inverse: boolean;
  /** Volts at which each port carries `leastAmps`. */
  private readonly onset: Float64Array;
  private readonly np: number;
  /** By stage and port: open volts to be given, volts and amperes found (and to begin from). */
  readonly v0: Float64Array;
  readonly v: Float64Array;
  readonly i: Float64Array;
  /** Those that conduct, and their laws' slopes. */
  readonly active: Int32Array;
  readonly ohms: Float64Array;
  private readonly g: Float64Array;
  /** Volts of each active port if it alone were to let go. */
  private readonly open: Float64Array;
  /** How often each port went out while a step was solved. */
  private readonly drops: Int32Array;
  /** Room for the equations of the active ones. */
  readonly jac: Float64Array;
  private readonly f: Float64Array;
  private readonly law2 = new Float64Array(2);

  /**
   * @param width   columns of a stretch's matrices
   * @param portsAt where the ports' begin
   */
  constructor(
    readonly ports: readonly Port[],
    private readonly width: number,
    private readonly portsAt: number,
  ) {
    this.np = ports.length;
    this.inverse = ports.every(({ law }) => law.inverse !== undefined);
    this.onset = Float64Array.from(ports, ({ law }) => {
      law.inverse?.(leastAmps, this.law2);
      return this.law2[0];
    });
    const sp = stages * this.np;
    const row = (): Float64Array => doubles(sp);
    this.v0 = row();
    this.v = row();
    this.i = row();
    this.ohms = row();
    this.g = row();
    this.open = row();
    this.f = row();
    this.active = integers(sp);
    this.drops = integers(sp);
    this.jac = doubles(sp * sp);
  }

  /**
   * Currents of the ports at a step's stages: v + Z i(v) = v0.
   * @param V the stretch's port rows, with minus the impedance in the ports' columns
   * @returns how many conduct; their numbers stand in `active`, their laws' slopes in `ohms`
   */
  conduct(V: Float64Array): number {
    return this.inverse ? this.byCurrents(V) : this.byVolts(V);
  }

  /**
   * Currents of the ports at a step's stages: V(i) + Z i = v0, for those that conduct. In terms of currents this is nearly
   * straight, so that Newton needs two or three looks; a port that would carry no current is open, and its volts must then be below
   * those where it begins.
   * @param V the stretch's port rows, with minus the impedance in the ports' columns
   * @returns how many are active; their numbers stand in `active`, their laws' slopes in `ohms`
   */
  private byCurrents(V: Float64Array): number {
    const { np, ports, law2, width, portsAt, onset, v0, v, i, ohms, open, active, jac, f, drops } = this;
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
        if (s > onset[r < np ? r : r - np] + 1e-9 && drops[r] < mostDrops) {
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
   * @param V the stretch's port rows, with minus the impedance in the ports' columns
   * @returns how many are active; their numbers stand in `active`
   */
  private byVolts(V: Float64Array): number {
    const { np, ports, law2, width, portsAt, v0, v, i, ohms, g, active, jac, f } = this;
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

  /** Slopes of the ports' laws along a record: count x np. */
  slopesAlong({ v, i, count }: CycleRecord): Float64Array {
    const { np, ports, law2 } = this;
    const g = doubles(count * np);
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
}
