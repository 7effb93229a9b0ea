/**
 * The equations of a network: modified nodal analysis over devices. The pattern is built and ordered once; what never changes is
 * stamped once; every Newton step adds the rest and refactors in place.
 *
 * Unknowns: the volts of every node in use, then the branch currents of every device in turn. Rows: Kirchhoff's current law at
 * each node (amperes leaving it), then the branch equations (volts).
 */
import type { DcDevice } from "../device.ts";
import { buildPattern, type Pattern } from "../linear/pattern.ts";
import { copyOf, doubles, integers } from "../linear/slabs.ts";
import { SparseLu } from "../linear/sparse-lu.ts";

/** A device whose Jacobian moves. */
export interface Moving {
  device: DcDevice;
  /** Place in `DcSystem.devices`. */
  readonly index: number;
  /** Unknown of each of its own, -1 for circuit common. */
  readonly unknown: Int32Array;
  /** Entry of the matrix for each of its Jacobian's, -1 where there is none. */
  readonly entry: Int32Array;
  /** A whole supply: costly, and so nearly straight that it is evaluated anew only when its volts have moved. */
  readonly heavy: boolean;
  /** Where it was last evaluated, and what came out. */
  readonly at: Float64Array;
  readonly f: Float64Array;
  readonly jac: Float64Array;
  /** The unknowns asked for. */
  readonly x: Float64Array;
  /** Room for the limited ones. */
  readonly next: Float64Array;
  /** The last evaluation was kept short of `x`. */
  limited: boolean;
  /** Heavy: the part of the way to `x` that the next evaluation goes, and how far the last one lay off its straight line. */
  trust: number;
  surprise: number;
}

export class DcSystem {
  readonly devices: DcDevice[];
  readonly size: number;
  /** Unknowns that are node volts come first. */
  readonly nodeUnknowns: number;
  /** Unknown of each node, -1 for those inside islands. */
  readonly unknownOfNode: Int32Array;
  readonly pattern: Pattern;
  readonly lu: SparseLu;
  readonly moving: readonly Moving[];
  /** Where each device's unknowns stand in `unknowns`; length devices + 1. */
  readonly start: Int32Array;
  readonly unknowns: Int32Array;
  /** The Jacobian. */
  readonly values: Float64Array;
  /** Whose Jacobian `values` and `lu` hold: for the bands of several solutions in turn. */
  holder: object | null = null;
  /** How often supplies have been evaluated since somebody last set this to nought. */
  heavyEvaluations = 0;
  /** Entry of each node unknown's diagonal. */
  readonly diagonal: Int32Array;
  /** Of the linear devices: Jacobian, and residual with every unknown zero. */
  private readonly constant: Float64Array;
  private readonly offset: Float64Array;
  readonly linear: boolean;
  /**
   * The same for the residual: conductances between two unknowns (-1 for common), whose current is found from the difference of
   * volts, since the rounding of a sum of large conductances would drown a small one; and single entries.
   */
  private readonly conductance: Places;
  private readonly single: Places;

  /**
   * @param inner nodes that belong to islands
   * @param heavy devices that are evaluated sparingly
   */
  constructor(
    devices: DcDevice[],
    nodeCount: number,
    inner: ReadonlySet<number>,
    heavy: ReadonlySet<DcDevice>,
  ) {
    this.devices = devices;
    this.unknownOfNode = integers(nodeCount);
    let size = 0;
    for (let n = 0; n < nodeCount; n++) this.unknownOfNode[n] = inner.has(n) ? -1 : size++;
    this.nodeUnknowns = size;
    this.start = integers(devices.length + 1);
    let total = 0;
    let largest = 0;
    for (let d = 0; d < devices.length; d++) {
      const own = devices[d].nodes.length + devices[d].branches;
      this.start[d] = total;
      total += own;
      if (own > largest) largest = own;
    }
    this.start[devices.length] = total;
    this.unknowns = integers(total);
    for (let d = 0; d < devices.length; d++) {
      const { nodes, branches } = devices[d];
      let k = this.start[d];
      for (let t = 0; t < nodes.length; t++) {
        this.unknowns[k++] = nodes[t] < 0 ? -1 : this.unknownOfNode[nodes[t]];
      }
      for (let b = 0; b < branches; b++) this.unknowns[k++] = size++;
    }
    this.size = size;

    const places = new Places(4 * total + size);
    for (let n = 0; n < this.nodeUnknowns; n++) places.add(n, n, 0);
    this.offset = doubles(size);
    this.conductance = new Places(2 * devices.length);
    this.single = new Places(16);
    const x = doubles(largest);
    const f = doubles(largest);
    const jac = doubles(largest * largest);
    const moving: { device: DcDevice; index: number; first: number }[] = [];
    for (let d = 0; d < devices.length; d++) {
      const device = devices[d];
      const from = this.start[d];
      const own = this.start[d + 1] - from;
      if (!device.linear || heavy.has(device)) {
        moving.push({ device, index: d, first: places.count });
        for (let r = 0; r < own; r++) {
          for (let c = 0; c < own; c++) {
            const row = this.unknowns[from + r];
            const column = this.unknowns[from + c];
            if (row >= 0 && column >= 0) places.add(row, column, 0);
          }
        }
        continue;
      }
      device.evaluate(x, f, jac);
      this.split(from, own, jac);
      for (let r = 0; r < own; r++) {
        const row = this.unknowns[from + r];
        if (row < 0) continue;
        this.offset[row] += f[r];
        for (let c = 0; c < own; c++) {
          const column = this.unknowns[from + c];
          if (column >= 0 && jac[r * own + c] !== 0) places.add(row, column, jac[r * own + c]);
        }
      }
    }
    const { pattern, entry } = buildPattern(size, places.rows, places.columns, places.count);
    this.pattern = pattern;
    this.constant = doubles(pattern.rows.length);
    for (let k = 0; k < places.count; k++) this.constant[entry[k]] += places.values[k];
    this.values = doubles(pattern.rows.length);
    this.diagonal = entry.slice(0, this.nodeUnknowns);
    this.moving = moving.map(({ device, index, first }) => {
      const from = this.start[index];
      const own = this.start[index + 1] - from;
      const unknown = this.unknowns.subarray(from, from + own);
      const entries = integers(own * own).fill(-1);
      let k = first;
      for (let r = 0; r < own; r++) {
        for (let c = 0; c < own; c++) {
          if (unknown[r] >= 0 && unknown[c] >= 0) entries[r * own + c] = entry[k++];
        }
      }
      return {
        device,
        index,
        unknown,
        entry: entries,
        heavy: heavy.has(device),
        at: doubles(own),
        f: doubles(own),
        jac: doubles(own * own),
        x: doubles(own),
        next: doubles(own),
        limited: false,
        trust: 1,
        surprise: Number.POSITIVE_INFINITY,
      };
    });
    this.linear = this.moving.length === 0;
    this.lu = new SparseLu(pattern);
  }

  /** Put a device of the same shape (nodes, branches) in another's place: a supply at another mains level. */
  replace(index: number, device: DcDevice): void {
    this.devices[index] = device;
    for (const moving of this.moving) if (moving.index === index) moving.device = device;
  }

  /** Take a linear device apart into conductances between its terminals and what is left. */
  private split(from: number, own: number, jac: Float64Array): void {
    const unknown = this.unknowns;
    for (let r = 0; r < own; r++) {
      let left = jac[r * own + r];
      for (let c = 0; c < own; c++) {
        if (c === r) continue;
        const g = -jac[r * own + c];
        if (g === 0) continue;
        if (g > 0 && jac[c * own + r] === -g && jac[r * own + r] > 0 && jac[c * own + c] > 0) {
          if (c > r) this.conductance.add(unknown[from + r], unknown[from + c], g);
          left -= g;
        } else if (unknown[from + r] >= 0 && unknown[from + c] >= 0) {
          this.single.add(unknown[from + r], unknown[from + c], -g);
        }
      }
      const rounding = 1e-14 * Math.abs(jac[r * own + r]);
      if (Math.abs(left) > rounding && unknown[from + r] >= 0) {
        this.single.add(unknown[from + r], unknown[from + r], left);
      }
    }
  }

  /** A device's own unknowns out of all. */
  gather(index: number, x: Float64Array, into: Float64Array): Float64Array {
    const from = this.start[index];
    for (let k = from, end = this.start[index + 1]; k < end; k++) {
      const unknown = this.unknowns[k];
      into[k - from] = unknown < 0 ? 0 : x[unknown];
    }
    return into;
  }

  /**
   * Evaluate the moving devices for x. Limited ones and held ones are continued straight from where they were evaluated.
   * @param first  a new start: no limits by what was evaluated before
   * @param heavy  evaluate heavy devices too
   */
  evaluate(x: Float64Array, first: boolean, heavy: boolean): void {
    for (const moving of this.moving) {
      this.gather(moving.index, x, moving.x);
      if (moving.heavy) {
        if (!heavy) continue;
        moving.limited = false;
        this.evaluateHeavy(moving, first);
        continue;
      }
      moving.limited = false;
      if (moving.device.limit && !first) {
        moving.next.set(moving.x);
        moving.limited = moving.device.limit(moving.at, moving.next);
        moving.at.set(moving.next);
      } else moving.at.set(moving.x);
      moving.device.evaluate(moving.at, moving.f, moving.jac);
    }
  }

  /**
   * A supply goes all the way to x as long as that surprises it less and less; when two looks at it throw each other back it goes
   * half the way, and less.
   */
  private evaluateHeavy(moving: Moving, first: boolean): void {
    const { device, at, x, f, jac } = moving;
    const own = x.length;
    this.heavyEvaluations++;
    if (first) {
      moving.trust = 1;
      moving.surprise = Number.POSITIVE_INFINITY;
      at.set(x);
      device.evaluate(at, f, jac);
      return;
    }
    const expected = copyOf(f);
    for (let r = 0; r < own; r++) {
      for (let c = 0; c < own; c++) expected[r] += jac[r * own + c] * moving.trust * (x[c] - at[c]);
    }
    for (let c = 0; c < own; c++) at[c] += moving.trust * (x[c] - at[c]);
    moving.limited = moving.trust < 1;
    device.evaluate(at, f, jac);
    let surprise = 0;
    for (let r = device.nodes.length; r < own; r++)
      surprise = Math.max(surprise, Math.abs(f[r] - expected[r]));
    moving.trust =
      surprise > 0.7 * moving.surprise ? Math.max(moving.trust / 2, 1 / 16) : Math.min(1, 2 * moving.trust);
    moving.surprise = surprise;
  }

  /** Evaluate a heavy device at its own x of the solution, whatever its trust: it has just been looked at there. */
  settle(index: number, x: Float64Array): void {
    const moving = this.moving.find((other) => other.index === index);
    if (!moving) return;
    moving.x.set(x);
    moving.at.set(x);
    moving.limited = false;
    moving.device.evaluate(moving.at, moving.f, moving.jac);
  }

  /** A moving device's currents and branch residuals at its own x, continued straight from its last evaluation. */
  straight(index: number, x: Float64Array): Float64Array {
    const moving = this.moving.find((other) => other.index === index);
    if (!moving) return doubles(x.length);
    const { f, jac, at } = moving;
    const out = copyOf(f);
    for (let r = 0; r < out.length; r++) {
      for (let c = 0; c < out.length; c++) out[r] += jac[r * out.length + c] * (x[c] - at[c]);
    }
    return out;
  }

  /** Add up the residual at x, and the Jacobian, from the last evaluation. */
  assemble(x: Float64Array, residual: Float64Array): void {
    const { values, constant, offset } = this;
    values.set(constant);
    residual.set(offset);
    const { conductance, single } = this;
    for (let k = 0; k < conductance.count; k++) {
      const a = conductance.rows[k];
      const b = conductance.columns[k];
      const amps = ((a < 0 ? 0 : x[a]) - (b < 0 ? 0 : x[b])) * conductance.values[k];
      if (a >= 0) residual[a] += amps;
      if (b >= 0) residual[b] -= amps;
    }
    for (let k = 0; k < single.count; k++)
      residual[single.rows[k]] += single.values[k] * x[single.columns[k]];
    for (const moving of this.moving) {
      const { unknown, entry, f, jac, at } = moving;
      const own = unknown.length;
      for (let r = 0; r < own; r++) {
        const row = unknown[r];
        if (row < 0) continue;
        let value = f[r];
        for (let c = 0; c < own; c++) {
          const slope = jac[r * own + c];
          const away = moving.x[c] - at[c];
          if (away !== 0) value += slope * away;
          const place = entry[r * own + c];
          if (place >= 0) values[place] += slope;
        }
        residual[row] += value;
      }
    }
    this.holder = null;
  }

  /** Take a part of the sources out of a residual: those of linear devices, and what the supplies give at rest. */
  lessenSources(residual: Float64Array, part: number): void {
    for (let i = 0; i < this.size; i++) residual[i] -= part * this.offset[i];
    for (const { unknown, f, jac, at, heavy } of this.moving) {
      if (!heavy) continue;
      const own = unknown.length;
      for (let r = 0; r < own; r++) {
        if (unknown[r] < 0) continue;
        let rest = f[r];
        for (let c = 0; c < own; c++) rest -= jac[r * own + c] * at[c];
        residual[unknown[r]] -= part * rest;
      }
    }
  }

  /** Make `lu` hold the factors of a solution's Jacobian again. */
  hold(holder: object, values: Float64Array): void {
    if (this.holder === holder) return;
    this.values.set(values);
    this.lu.factor(this.values);
    this.holder = holder;
  }
}

/** A growing list of places and values. */
class Places {
  rows: Int32Array;
  columns: Int32Array;
  values: Float64Array;
  count = 0;
  constructor(room: number) {
    this.rows = integers(room);
    this.columns = integers(room);
    this.values = doubles(room);
  }
  add(row: number, column: number, value: number): void {
    if (this.count === this.rows.length) {
      const grow = <A extends Int32Array | Float64Array>(old: A, fresh: A): A => {
        fresh.set(old);
        return fresh;
      };
      this.rows = grow(this.rows, integers(2 * this.count + 16));
      this.columns = grow(this.columns, integers(2 * this.count + 16));
      this.values = grow(this.values, doubles(2 * this.count + 16));
    }
    this.rows[this.count] = row;
    this.columns[this.count] = column;
    this.values[this.count++] = value;
  }
}
