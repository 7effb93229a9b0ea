/**
 * How far the parts' tolerances move a solution, to first order. One adjoint solve against the factored Jacobian gives how every
 * toleranced value moves one unknown; it is made when first asked for and kept, and every quantity that is told is a
 * combination of a few unknowns.
 */
import type { DeviceParameter } from "../device.ts";
import { doubles, integers } from "../linear/slabs.ts";
import type { LocalQuantity } from "./elements.ts";
import type { DcSystem } from "./system.ts";

/** Numbers kept in rows: 16 MB. */
const MOST_KEPT = 2_000_000;

export class Influence {
  readonly parameters: readonly DeviceParameter[];
  /** First parameter of each device; length devices + 1. */
  private readonly firstOf: Int32Array;
  /** dF/d(ln p) of each parameter, by unknown. */
  private readonly start: Int32Array;
  private readonly places: Int32Array;
  private readonly slopes: Float64Array;
  /** By parameter: the tolerance that counts, and as a logarithm how far down it reaches. */
  private readonly tolerance: Float64Array;
  private readonly reach: Float64Array;
  private readonly rows = new Map<number, Float64Array>();
  private readonly jacobian: Float64Array;
  private readonly adjoint: Float64Array;

  /**
   * @param x         the solution
   * @param jacobian  its Jacobian's values, in the system's pattern (kept)
   */
  constructor(
    private readonly system: DcSystem,
    private readonly x: Float64Array,
    jacobian: Float64Array,
  ) {
    this.jacobian = jacobian;
    this.adjoint = doubles(system.size);
    const parameters: DeviceParameter[] = [];
    const start: number[] = [0];
    const places: number[] = [];
    const slopes: number[] = [];
    const { devices } = system;
    this.firstOf = integers(devices.length + 1);
    for (let d = 0; d < devices.length; d++) {
      this.firstOf[d] = parameters.length;
      const own = devices[d].parameters;
      if (!own || own.length === 0) continue;
      const { local, out } = this.local(d);
      const first = system.start[d];
      for (const parameter of own) {
        parameters.push(parameter);
        out.fill(0);
        parameter.derivative(local, out);
        for (let r = 0; r < out.length; r++) {
          const unknown = system.unknowns[first + r];
          if (unknown < 0 || out[r] === 0) continue;
          places.push(unknown);
          slopes.push(out[r]);
        }
        start.push(places.length);
      }
    }
    this.firstOf[devices.length] = parameters.length;
    this.parameters = parameters;
    this.start = new Int32Array(start);
    this.places = new Int32Array(places);
    this.slopes = new Float64Array(slopes);
    this.tolerance = doubles(parameters.length);
    this.reach = doubles(parameters.length);
    for (let p = 0; p < parameters.length; p++) {
      this.tolerance[p] = Math.min(parameters[p].tolerance, MOST_TOLERANCE);
      this.reach[p] = Math.log1p(-this.tolerance[p]);
    }
  }

  /** A device's own unknowns at the solution, and as much room; until the next device of that size is looked at. */
  private local(device: number): Local {
    const { system } = this;
    const own = system.start[device + 1] - system.start[device];
    let found = locals.get(own);
    if (!found) {
      found = { local: doubles(own), out: doubles(own) };
      locals.set(own, found);
    }
    system.gather(device, this.x, found.local);
    return found;
  }

  /** d(unknown)/d(ln p) for every parameter. */
  row(unknown: number): Float64Array {
    let row = this.rows.get(unknown);
    if (row) return row;
    const { system, parameters, start, places, slopes } = this;
    system.hold(this, this.jacobian);
    const { adjoint } = this;
    adjoint.fill(0);
    adjoint[unknown] = 1;
    system.lu.solveTransposed(adjoint, adjoint);
    row = doubles(parameters.length);
    for (let p = 0; p < parameters.length; p++) {
      let sum = 0;
      for (let k = start[p]; k < start[p + 1]; k++) sum -= adjoint[places[k]] * slopes[k];
      row[p] = sum;
    }
    // A row is as long as the parts list: of a large amplifier only so many are kept.
    if ((this.rows.size + 1) * parameters.length > MOST_KEPT) this.rows.clear();
    this.rows.set(unknown, row);
    return row;
  }

  /** Add the gradient of one reading of a device. */
  addQuantity(device: number, quantity: LocalQuantity, into: Float64Array, factor = 1): void {
    const { plus, minus, terminal, kind } = quantity;
    if (kind === "volts") {
      // Of the unknowns alone: nothing has to be looked at.
      const { unknowns, start } = this.system;
      const first = plus < 0 ? -1 : unknowns[start[device] + plus];
      const second = minus < 0 ? -1 : unknowns[start[device] + minus];
      if (first === second) return;
      if (first >= 0) addTo(into, this.row(first), factor);
      if (second >= 0) addTo(into, this.row(second), -factor);
      return;
    }
    const { local, out } = this.local(device);
    const own = local.length;
    let byVolts = 0;
    let byAmps = 0;
    const across = (plus < 0 ? 0 : local[plus]) - (minus < 0 ? 0 : local[minus]);
    const jac = doubles(own * own);
    this.system.devices[device].evaluate(local, out, jac);
    const amps = terminal < 0 ? 0 : out[terminal];
    if (kind === "amps") byAmps = factor * quantity.sign;
    else if (kind === "size") byAmps = factor * (amps < 0 ? -1 : 1);
    else {
      byVolts = factor * quantity.sign * amps;
      byAmps = factor * quantity.sign * across;
    }
    for (let c = 0; c < own; c++) {
      let slope = 0;
      if (c === plus) slope += byVolts;
      if (c === minus) slope -= byVolts;
      if (byAmps !== 0) slope += byAmps * jac[terminal * own + c];
      const unknown = this.system.unknowns[this.system.start[device] + c];
      if (slope !== 0 && unknown >= 0) addTo(into, this.row(unknown), slope);
    }
    if (byAmps !== 0) {
      // The value's own hand in the current.
      const parameters = this.system.devices[device].parameters ?? [];
      parameters.forEach((parameter, k) => {
        out.fill(0);
        parameter.derivative(local, out);
        into[this.firstOf[device] + k] += byAmps * out[terminal];
      });
    }
  }

  /** Add a gradient by a device's own unknowns and parameters (what an island tells of its inside). */
  addGiven(device: number, dx: Float64Array, dp: Float64Array, into: Float64Array): void {
    const { unknowns, start } = this.system;
    const first = start[device];
    for (let c = 0; first + c < start[device + 1]; c++) {
      const unknown = unknowns[first + c];
      if (unknown >= 0 && dx[c] !== 0) addTo(into, this.row(unknown), dx[c]);
    }
    for (let k = 0; k < dp.length; k++) into[this.firstOf[device] + k] += dp[k];
  }

  /**
   * Worst case: every value at the end of its tolerance that hurts. First order, save that a value's lower end is further away than
   * its upper one: a resistor 20 % low lets 25 % more through, not 20 %.
   * @param average reference of a part whose own values are left out (its sections' as well)
   */
  around(
    nominal: number,
    gradient: Readonly<Float64Array>,
    average?: string,
  ): { nominal: number; low: number; high: number } {
    const sign = nominal < 0 ? -1 : 1;
    const sections = average === undefined ? undefined : `${average}.`;
    let less = 0;
    let more = 0;
    for (let p = 0; p < gradient.length; p++) {
      const slope = sign * gradient[p];
      if (slope === 0) continue;
      if (sections !== undefined) {
        const { reference } = this.parameters[p];
        if (reference === average || reference.startsWith(sections)) continue;
      }
      const tolerance = this.tolerance[p];
      if (slope > 0) {
        more += slope * tolerance;
        less -= slope * this.reach[p];
      } else {
        more -= (slope * tolerance) / (1 - tolerance);
        less -= slope * tolerance;
      }
    }
    return sign > 0
      ? { nominal, low: nominal - less, high: nominal + more }
      : { nominal, low: nominal - more, high: nominal + less };
  }
}

interface Local {
  readonly local: Float64Array;
  readonly out: Float64Array;
}

/** By how many unknowns a device has. */
const locals = new Map<number, Local>();

/** A value may be written with a tolerance that would let it vanish. */
const MOST_TOLERANCE = 0.8;

function addTo(into: Float64Array, row: Float64Array, factor: number): void {
  for (let p = 0; p < into.length; p++) into[p] += factor * row[p];
}
