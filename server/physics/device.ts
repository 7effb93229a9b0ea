/**
 * What the dc solver knows of a device: its terminals, its extra unknowns, and its equations with their derivatives.
 * Everything in the network is one of these: a resistor, an ideal source, a valve section, a whole rectifier.
 */
export interface DcDevice {
  /** For messages. */
  readonly reference: string;
  /** Node of each terminal; -1 is circuit common. */
  readonly nodes: readonly number[];
  /** Extra unknowns (branch currents), each with an equation of its own. */
  readonly branches: number;
  /** True: the Jacobian never changes, and is stamped once. */
  readonly linear: boolean;
  /**
   * @param x       terminal volts, then branch unknowns (amperes)
   * @param f       out, same length: amperes flowing from each terminal's node INTO the device, then the residual of
   *                each branch equation (volts)
   * @param jac     out, row-major square: df/dx
   */
  evaluate(x: Float64Array, f: Float64Array, jac: Float64Array): void;
  /**
   * Pairs of terminals (by their place in `nodes`) that a direct current can pass between, for finding nets that nothing
   * fixes. Absent: all its terminals are joined. A valve's grid is joined to nothing.
   */
  readonly paths?: readonly (readonly [number, number])[];
  /**
   * Keep a Newton step within what the device's curve allows: may change `next` (terminal volts, then branches) towards
   * `from`. Gives true where it did.
   */
  limit?(from: Float64Array, next: Float64Array): boolean;
  /** The values in it that have a tolerance, for the bands (adjoint sensitivity). */
  readonly parameters?: readonly DeviceParameter[];
}

export interface DeviceParameter {
  /** Part whose value this is. */
  readonly reference: string;
  /** Fraction, one-sided (0.05 for ±5 %). */
  readonly tolerance: number;
  /** @param out df/d(ln value) at x, same layout as `f` */
  derivative(x: Float64Array, out: Float64Array): void;
}

/** Currents of one valve section for given electrode volts. Smooth to the first derivative for any volts. */
export interface SectionLaw {
  /**
   * @param vg,vs,vp volts of control grid, screen and plate to the cathode (a triode ignores vs)
   * @param out      12 numbers: plate, screen, grid amperes; then d(plate)/d(g,s,p), d(screen)/d(g,s,p), d(grid)/d(g,s,p)
   */
  evaluate(vg: number, vs: number, vp: number, out: Float64Array): void;
}

/** Current of a two-terminal rectifying element. */
export interface DiodeLaw {
  /** @param out 2 numbers: amperes, and siemens di/dv */
  evaluate(volts: number, out: Float64Array): void;
  /**
   * The same turned round, where that can be written down: in conduction a current is far nearer to straight than a voltage.
   * @param amps positive
   * @param out 2 numbers: volts, and ohms dv/di
   */
  inverse?(amps: number, out: Float64Array): void;
}
