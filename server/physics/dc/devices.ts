/**
 * The devices that parts are made of at direct current: their equations, slopes and toleranced values. Classes, since a large
 * amplifier has thousands of them: what is alike is made once.
 */
import type { DcDevice, DeviceParameter, DiodeLaw, SectionLaw } from "../device.ts";

const NO_PATHS: readonly (readonly [number, number])[] = [];

/** Two terminals and a resistance; a tolerance of 0 for a value without one. */
export class ResistorDevice implements DcDevice {
  readonly branches = 0;
  readonly linear = true;
  private readonly siemens: number;
  constructor(
    readonly reference: string,
    readonly nodes: readonly number[],
    ohms: number,
    readonly tolerance: number,
  ) {
    this.siemens = 1 / ohms;
  }
  evaluate(x: Float64Array, f: Float64Array, jac: Float64Array): void {
    const { siemens } = this;
    const amps = (x[0] - x[1]) * siemens;
    f[0] = amps;
    f[1] = -amps;
    jac[0] = siemens;
    jac[1] = -siemens;
    jac[2] = -siemens;
    jac[3] = siemens;
  }
  get parameters(): readonly DeviceParameter[] | undefined {
    return this.tolerance > 0 ? [this] : undefined;
  }
  /** Of itself as the one parameter: more ohms, less current. */
  derivative(x: Float64Array, out: Float64Array): void {
    const amps = (x[0] - x[1]) * this.siemens;
    out[0] = -amps;
    out[1] = amps;
  }
}

/** A pot between its ends: terminals top, wiper, bottom. Its track has one tolerance, so both halves move together. */
export class PotDevice implements DcDevice {
  readonly branches = 0;
  readonly linear = true;
  private readonly upper: number;
  private readonly lower: number;
  constructor(
    readonly reference: string,
    readonly nodes: readonly number[],
    upperOhms: number,
    lowerOhms: number,
    readonly tolerance: number,
  ) {
    this.upper = 1 / upperOhms;
    this.lower = 1 / lowerOhms;
  }
  evaluate(x: Float64Array, f: Float64Array, jac: Float64Array): void {
    const { upper, lower } = this;
    const above = (x[0] - x[1]) * upper;
    const below = (x[1] - x[2]) * lower;
    f[0] = above;
    f[1] = below - above;
    f[2] = -below;
    jac[0] = upper;
    jac[1] = -upper;
    jac[2] = 0;
    jac[3] = -upper;
    jac[4] = upper + lower;
    jac[5] = -lower;
    jac[6] = 0;
    jac[7] = -lower;
    jac[8] = lower;
  }
  get parameters(): readonly DeviceParameter[] {
    return [this];
  }
  derivative(x: Float64Array, out: Float64Array): void {
    const above = (x[0] - x[1]) * this.upper;
    const below = (x[1] - x[2]) * this.lower;
    out[0] = -above;
    out[1] = above - below;
    out[2] = below;
  }
}

/** Nothing at dc: a capacitor, a lamp not lit. Kept so that its volts can be told. */
export class OpenDevice implements DcDevice {
  readonly branches = 0;
  readonly linear = true;
  readonly paths = NO_PATHS;
  constructor(
    readonly reference: string,
    readonly nodes: readonly number[],
  ) {}
  evaluate(_x: Float64Array, f: Float64Array, jac: Float64Array): void {
    const own = this.nodes.length;
    f.fill(0, 0, own);
    jac.fill(0, 0, own * own);
  }
}

/**
 * A dc source, plus first. Without resistance it has a branch current (into its plus terminal) and fixes its volts; with one it
 * needs none.
 */
export class SourceDevice implements DcDevice {
  readonly linear = true;
  readonly branches: number;
  constructor(
    readonly reference: string,
    readonly nodes: readonly number[],
    readonly volts: number,
    readonly ohms: number,
  ) {
    this.branches = ohms > 0 ? 0 : 1;
  }
  evaluate(x: Float64Array, f: Float64Array, jac: Float64Array): void {
    if (this.ohms > 0) {
      const siemens = 1 / this.ohms;
      const amps = (x[0] - x[1] - this.volts) * siemens;
      f[0] = amps;
      f[1] = -amps;
      jac[0] = siemens;
      jac[1] = -siemens;
      jac[2] = -siemens;
      jac[3] = siemens;
      return;
    }
    f[0] = x[2];
    f[1] = -x[2];
    f[2] = x[0] - x[1] - this.volts;
    jac.fill(0, 0, 9);
    jac[2] = 1;
    jac[5] = -1;
    jac[6] = 1;
    jac[7] = -1;
  }
}

const pair = new Float64Array(2);

/** A diode by its law, anode first. */
export class DiodeDevice implements DcDevice {
  readonly branches = 0;
  readonly linear = false;
  constructor(
    readonly reference: string,
    readonly nodes: readonly number[],
    private readonly law: DiodeLaw,
    readonly parameters?: readonly DeviceParameter[],
  ) {}
  evaluate(x: Float64Array, f: Float64Array, jac: Float64Array): void {
    this.law.evaluate(x[0] - x[1], pair);
    f[0] = pair[0];
    f[1] = -pair[0];
    jac[0] = pair[1];
    jac[1] = -pair[1];
    jac[2] = -pair[1];
    jac[3] = pair[1];
  }
  limit(from: Float64Array, next: Float64Array): boolean {
    const wants = next[0] - next[1];
    const allowed = limitDiode(this.law, from[0] - from[1], wants);
    if (allowed === wants) return false;
    // The volts belong to the junction: which terminal gives way does not matter to it.
    next[1] = next[0] - allowed;
    return true;
  }
}

/**
 * A step up an exponential: the volts at which the law carries no more than the current the step was meant to bring.
 * A zener's breakdown is such a step on the other side.
 */
function limitDiode(law: DiodeLaw, was: number, wants: number): number {
  law.evaluate(was, pair);
  const amps = pair[0];
  const meant = amps + pair[1] * (wants - was);
  law.evaluate(wants, pair);
  const reached = pair[0];
  const excess = Math.abs(reached - meant);
  if (excess <= 2 * Math.abs(meant - amps) + 1e-3 || Math.sign(reached - amps) !== Math.sign(wants - was)) {
    return wants;
  }
  const aim = Math.abs(meant - amps) < 1e-4 ? amps + Math.sign(wants - was) * 1e-4 : meant;
  let near = was;
  let far = wants;
  for (let k = 0; k < 40 && Math.abs(far - near) > 1e-6; k++) {
    const middle = 0.5 * (near + far);
    law.evaluate(middle, pair);
    if (Math.abs(pair[0] - amps) < Math.abs(aim - amps)) near = middle;
    else far = middle;
  }
  return far;
}

/** Places of a valve section's electrodes among its terminals. */
export const GRID = 0;
export const SCREEN = 1;
export const PLATE = 2;
export const CATHODE = 3;

const SECTION_PATHS: readonly (readonly [number, number])[] = [
  [PLATE, CATHODE],
  [SCREEN, CATHODE],
];

/** Grid volts that a Newton step may reach from at or below zero, and how it grows from there. */
const GRID_STEP_VOLTS = 1;
/** The same for plate and screen: what counts as near the cathode, the part left by one fall, how far one rise goes from there. */
const PLATE_NEAR_VOLTS = 1;
const PLATE_FALL = 0.2;
const PLATE_RISE_VOLTS = 50;

const twelve = new Float64Array(12);

/** A valve section: grid, screen, plate, cathode. A triode's screen is released at once. */
export class SectionDevice implements DcDevice {
  readonly branches = 0;
  readonly linear = false;
  readonly paths = SECTION_PATHS;
  private released = 0;
  /** @param spread fraction by which the currents of valves of one type differ */
  constructor(
    readonly reference: string,
    readonly nodes: number[],
    private readonly law: SectionLaw,
    readonly valve: string,
    readonly spread: number,
  ) {}

  /** An electrode that nothing fixes: taken at its cathode's volts, and drawing nothing. */
  release(terminal: number): void {
    this.released |= 1 << terminal;
    this.nodes[terminal] = this.nodes[CATHODE];
  }

  private at(x: Float64Array, terminal: number): number {
    return this.released & (1 << terminal) ? 0 : x[terminal] - x[CATHODE];
  }

  private currents(x: Float64Array): void {
    this.law.evaluate(this.at(x, GRID), this.at(x, SCREEN), this.at(x, PLATE), twelve);
    if (this.released & (1 << GRID)) {
      twelve[2] = 0;
      twelve[9] = 0;
      twelve[10] = 0;
      twelve[11] = 0;
    }
  }

  evaluate(x: Float64Array, f: Float64Array, jac: Float64Array): void {
    this.currents(x);
    f[GRID] = twelve[2];
    f[SCREEN] = twelve[1];
    f[PLATE] = twelve[0];
    f[CATHODE] = -(twelve[0] + twelve[1] + twelve[2]);
    this.row(jac, GRID, 9);
    this.row(jac, SCREEN, 6);
    this.row(jac, PLATE, 3);
    for (let c = 0; c < 4; c++) jac[12 + c] = -(jac[c] + jac[4 + c] + jac[8 + c]);
  }

  private row(jac: Float64Array, terminal: number, from: number): void {
    const { released } = this;
    const g = released & (1 << GRID) ? 0 : twelve[from];
    const s = released & (1 << SCREEN) ? 0 : twelve[from + 1];
    const p = released & (1 << PLATE) ? 0 : twelve[from + 2];
    const at = 4 * terminal;
    jac[at] = g;
    jac[at + 1] = s;
    jac[at + 2] = p;
    jac[at + 3] = -(g + s + p);
  }

  limit(from: Float64Array, next: Float64Array): boolean {
    // Grid first: its cathode's volts stay, the plate's and screen's are then held against them.
    let limited = false;
    for (let terminal = GRID; terminal <= PLATE; terminal++) {
      if (this.released & (1 << terminal)) continue;
      const was = from[terminal] - from[CATHODE];
      const wants = next[terminal] - next[CATHODE];
      const allowed = terminal === GRID ? limitGrid(was, wants) : limitPlate(was, wants);
      if (allowed === wants) continue;
      next[terminal] = next[CATHODE] + allowed;
      limited = true;
    }
    return limited;
  }

  get parameters(): readonly DeviceParameter[] | undefined {
    if (!(this.spread > 0)) return undefined;
    return [
      {
        reference: this.valve,
        tolerance: this.spread,
        derivative: (x, out) => {
          this.currents(x);
          out[GRID] = twelve[2];
          out[SCREEN] = twelve[1];
          out[PLATE] = twelve[0];
          out[CATHODE] = -(twelve[2] + twelve[1] + twelve[0]);
        },
      },
    ];
  }
}

function limitGrid(was: number, wants: number): number {
  return Math.min(wants, was > 0 ? 2 * was + GRID_STEP_VOLTS : GRID_STEP_VOLTS);
}

/**
 * Below its cathode a plate draws nothing and has no slope, and a straight line from far above lands there: close in by a
 * fraction instead, and come back by a multiple.
 */
function limitPlate(was: number, wants: number): number {
  if (wants < was) {
    // Once there it may go any way down: nothing changes.
    if (was <= 0) return wants;
    return Math.max(wants, was > PLATE_NEAR_VOLTS ? PLATE_FALL * was : was - PLATE_NEAR_VOLTS);
  }
  return was < PLATE_NEAR_VOLTS ? Math.min(wants, PLATE_RISE_VOLTS) : wants;
}

/** A law for current either way: a neon lamp that burns. */
export function bothWays(law: DiodeLaw): DiodeLaw {
  return {
    evaluate(volts, out) {
      law.evaluate(Math.abs(volts), out);
      if (volts < 0) out[0] = -out[0];
    },
  };
}
