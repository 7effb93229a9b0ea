/**
 * Devices and charged capacitors as the equations of a transient: M x' = -i(x). x are the node volts, then the branch currents of the
 * devices; i what leaves each node through everything but the capacitors (and the branch equations); M the capacitances between
 * the nodes. What is linear is stamped once, and the matrices keep one pattern and one order of elimination.
 */
import type { DcDevice } from "../device.ts";
import { type EliminationPlan, planElimination } from "../elimination/plan.ts";
import { factorReal, solveReal } from "../elimination/real.ts";
import { buildPattern, type Pattern } from "../linear/pattern.ts";
import { doubles, integers } from "../linear/slabs.ts";
import { SparseLu } from "../linear/sparse-lu.ts";

/** A capacitance between two nodes; -1 is circuit common. */
export interface Capacitance {
  readonly nodes: readonly [number, number];
  readonly farads: number;
}

/**
 * In the matrix alone, from every node to common: a net between diodes that block has no conductance that a number can hold. What it
 * stands for flows nowhere, so nothing empties through it.
 */
const LEAK_SIEMENS = 1e-12;

interface Bent {
  readonly device: DcDevice;
  readonly unknown: Int32Array;
  /** What of its Jacobian goes where in the matrix. */
  readonly from: Int32Array;
  readonly entry: Int32Array;
}

/** The entries that are not nought, by column. */
interface Columns {
  readonly start: Int32Array;
  readonly rows: Int32Array;
  readonly values: Float64Array;
}

function columnsOf({ size, columnStart, rows }: Pattern, values: Float64Array): Columns {
  const start = integers(size + 1);
  const keptRows: number[] = [];
  const keptValues: number[] = [];
  for (let c = 0; c < size; c++) {
    for (let p = columnStart[c]; p < columnStart[c + 1]; p++) {
      if (values[p] === 0) continue;
      keptRows.push(rows[p]);
      keptValues.push(values[p]);
    }
    start[c + 1] = keptRows.length;
  }
  return { start, rows: Int32Array.from(keptRows), values: Float64Array.from(keptValues) };
}

/** into += factor * A x. */
function addProduct(a: Columns, factor: number, x: Float64Array, into: Float64Array): void {
  const { start, rows, values } = a;
  for (let c = 0; c + 1 < start.length; c++) {
    const value = factor * x[c];
    if (value === 0) continue;
    for (let p = start[c], end = start[c + 1]; p < end; p++) into[rows[p]] += values[p] * value;
  }
}

export class TransientNetwork {
  readonly size: number;
  readonly nodeCount: number;
  /** How the matrix is solved; where a pivot has once vanished, with pivots chosen by `lu`. */
  private readonly plan: EliminationPlan | undefined;
  private lu: SparseLu | undefined;
  private readonly pattern: Pattern;
  private readonly right: Float64Array;
  private readonly bent: readonly Bent[];
  /** di/dx of the linear devices, capacitances, and i of the linear devices at x = 0. */
  private readonly constant: Float64Array;
  private readonly farads: Float64Array;
  private readonly offset: Float64Array;
  private readonly linear: Columns;
  private readonly charged: Columns;
  private readonly values: Float64Array;
  /** Entry of each node's diagonal. */
  private readonly diagonal: Int32Array;
  private readonly local: Float64Array;
  private readonly f: Float64Array;
  private readonly jac: Float64Array;

  /** @param devices whatever conducts; terminals in nodes 0 to `nodeCount` - 1, -1 for common */
  constructor(devices: readonly DcDevice[], capacitances: readonly Capacitance[], nodeCount: number) {
    let size = nodeCount;
    let largest = 1;
    const unknowns = devices.map(({ nodes, branches }) => {
      const own = integers(nodes.length + branches);
      for (let t = 0; t < nodes.length; t++) own[t] = nodes[t];
      for (let b = 0; b < branches; b++) own[nodes.length + b] = size++;
      if (own.length > largest) largest = own.length;
      return own;
    });
    this.size = size;
    this.nodeCount = nodeCount;
    this.local = doubles(largest);
    this.f = doubles(largest);
    this.jac = doubles(largest * largest);
    this.offset = doubles(size);
    const rows: number[] = [];
    const columns: number[] = [];
    const siemens: number[] = [];
    const farads: number[] = [];
    const add = (row: number, column: number, g: number, c: number): void => {
      rows.push(row);
      columns.push(column);
      siemens.push(g);
      farads.push(c);
    };
    for (let n = 0; n < nodeCount; n++) add(n, n, 0, 0);
    for (const { nodes, farads: c } of capacitances) {
      const [a, b] = nodes;
      if (a >= 0) add(a, a, 0, c);
      if (b >= 0) add(b, b, 0, c);
      if (a >= 0 && b >= 0) {
        add(a, b, 0, -c);
        add(b, a, 0, -c);
      }
    }
    const bent: { device: DcDevice; unknown: Int32Array; first: number }[] = [];
    devices.forEach((device, d) => {
      const unknown = unknowns[d];
      const own = unknown.length;
      if (!device.linear) {
        bent.push({ device, unknown, first: rows.length });
        for (let r = 0; r < own; r++)
          for (let c = 0; c < own; c++)
            if (unknown[r] >= 0 && unknown[c] >= 0) add(unknown[r], unknown[c], 0, 0);
        return;
      }
      this.local.fill(0);
      device.evaluate(this.local, this.f, this.jac);
      for (let r = 0; r < own; r++) {
        if (unknown[r] < 0) continue;
        this.offset[unknown[r]] += this.f[r];
        for (let c = 0; c < own; c++) {
          const slope = this.jac[r * own + c];
          if (unknown[c] >= 0 && slope !== 0) add(unknown[r], unknown[c], slope, 0);
        }
      }
    });
    const { pattern, entry } = buildPattern(size, rows, columns);
    this.pattern = pattern;
    this.plan = planElimination(pattern);
    this.right = doubles(size);
    this.constant = doubles(pattern.rows.length);
    this.farads = doubles(pattern.rows.length);
    this.values = doubles(this.plan?.entries ?? pattern.rows.length);
    this.diagonal = entry.slice(0, nodeCount);
    for (let k = 0; k < entry.length; k++) {
      this.constant[entry[k]] += siemens[k];
      this.farads[entry[k]] += farads[k];
    }
    this.linear = columnsOf(pattern, this.constant);
    this.charged = columnsOf(pattern, this.farads);
    this.bent = bent.map(({ device, unknown, first }) => {
      const own = unknown.length;
      const from: number[] = [];
      for (let r = 0; r < own; r++)
        for (let c = 0; c < own; c++) if (unknown[r] >= 0 && unknown[c] >= 0) from.push(r * own + c);
      return { device, unknown, from: Int32Array.from(from), entry: entry.slice(first, first + from.length) };
    });
  }

  /**
   * i(x) into `amps`, and with `perSecond` the factors of M * perSecond + di/dx at x, for `solve`.
   * @returns false when that matrix is singular
   */
  evaluate(x: Float64Array, amps: Float64Array, perSecond = 0): boolean {
    const { values, local, f, jac } = this;
    const whole = perSecond > 0;
    amps.set(this.offset);
    addProduct(this.linear, 1, x, amps);
    if (whole) this.stamp(perSecond);
    for (const { device, unknown, from, entry } of this.bent) {
      for (let k = 0; k < unknown.length; k++) local[k] = unknown[k] < 0 ? 0 : x[unknown[k]];
      device.evaluate(local, f, jac);
      for (let r = 0; r < unknown.length; r++) if (unknown[r] >= 0) amps[unknown[r]] += f[r];
      if (whole) for (let k = 0; k < from.length; k++) values[entry[k]] += jac[from[k]];
    }
    if (!whole) return true;
    if (this.plan && !this.lu) {
      if (factorReal(this.plan, values)) return true;
      this.lu = new SparseLu(this.pattern);
      return this.evaluate(x, amps, perSecond);
    }
    this.lu ??= new SparseLu(this.pattern);
    return this.lu.factor(values.subarray(0, this.pattern.rows.length));
  }

  /** What does not bend, into the matrix; fill is left at nought. */
  private stamp(perSecond: number): void {
    const { values, constant, farads, diagonal } = this;
    const own = constant.length;
    for (let p = 0; p < own; p++) values[p] = constant[p] + perSecond * farads[p];
    for (let p = own; p < values.length; p++) values[p] = 0;
    for (let n = 0; n < diagonal.length; n++) values[diagonal[n]] += LEAK_SIEMENS;
  }

  /** With the last factors. @param b by row; @param x out, not the same array */
  solve(b: Float64Array, x: Float64Array): void {
    if (this.lu || !this.plan) {
      this.lu?.solve(b, x);
      return;
    }
    this.right.set(b);
    solveReal(this.plan, this.values, this.right, x);
  }

  /** into += factor * M u. */
  addCharge(u: Float64Array, factor: number, into: Float64Array): void {
    addProduct(this.charged, factor, u, into);
  }
}
