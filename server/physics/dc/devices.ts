/** The devices that parts are made of at direct current: their equations, slopes and toleranced values. */
import type { DcDevice, DeviceParameter, DiodeLaw, SectionLaw } from "../device.ts";

const NO_PATHS: readonly (readonly [number, number])[] = [];

/** @param tolerance fraction; 0 for a value without one */
export function resistor(
  reference: string,
  nodes: number[],
  ohms: number,
  tolerance: number,
): DcDevice & { nodes: number[] } {
  const siemens = 1 / ohms;
  return {
    reference,
    nodes,
    branches: 0,
    linear: true,
    evaluate(x, f, jac) {
      const amps = (x[0] - x[1]) * siemens;
      f[0] = amps;
      f[1] = -amps;
      jac[0] = siemens;
      jac[1] = -siemens;
      jac[2] = -siemens;
      jac[3] = siemens;
    },
    parameters:
      tolerance > 0
        ? [
            {
              reference,
              tolerance,
              derivative(x, out) {
                const amps = (x[0] - x[1]) * siemens;
                out[0] = -amps;
                out[1] = amps;
              },
            },
          ]
        : undefined,
  };
}

/** A pot between its ends: terminals top, wiper, bottom. Its track has one tolerance, so both halves move together. */
export function potentiometer(
  reference: string,
  nodes: number[],
  upperOhms: number,
  lowerOhms: number,
  tolerance: number,
): DcDevice & { nodes: number[] } {
  const upper = 1 / upperOhms;
  const lower = 1 / lowerOhms;
  return {
    reference,
    nodes,
    branches: 0,
    linear: true,
    evaluate(x, f, jac) {
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
    },
    parameters: [
      {
        reference,
        tolerance,
        derivative(x, out) {
          const above = (x[0] - x[1]) * upper;
          const below = (x[1] - x[2]) * lower;
          out[0] = -above;
          out[1] = above - below;
          out[2] = below;
        },
      },
    ],
  };
}

/** Nothing at dc: a capacitor, a lamp not lit. Kept so that its volts can be told. */
export function open(reference: string, nodes: number[]): DcDevice & { nodes: number[] } {
  return {
    reference,
    nodes,
    branches: 0,
    linear: true,
    paths: NO_PATHS,
    evaluate(_x, f, jac) {
      f.fill(0);
      jac.fill(0);
    },
  };
}

/**
 * A dc source, plus first. Without resistance it has a branch current (into its plus terminal) and fixes its volts; with one it
 * needs none. `scale` stands for source stepping.
 */
export function source(
  reference: string,
  nodes: number[],
  volts: number,
  ohms: number,
): DcDevice & { nodes: number[]; volts: number; ohms: number } {
  const siemens = 1 / ohms;
  return {
    reference,
    nodes,
    volts,
    ohms,
    branches: ohms > 0 ? 0 : 1,
    linear: true,
    evaluate(x, f, jac) {
      if (ohms > 0) {
        const amps = (x[0] - x[1] - volts) * siemens;
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
      f[2] = x[0] - x[1] - volts;
      jac.fill(0);
      jac[2] = 1;
      jac[5] = -1;
      jac[6] = 1;
      jac[7] = -1;
    },
  };
}

/** A diode by its law, anode first. */
export function diode(
  reference: string,
  nodes: number[],
  law: DiodeLaw,
  parameters?: readonly DeviceParameter[],
): DcDevice & { nodes: number[] } {
  const out = new Float64Array(2);
  return {
    reference,
    nodes,
    branches: 0,
    linear: false,
    parameters,
    evaluate(x, f, jac) {
      law.evaluate(x[0] - x[1], out);
      f[0] = out[0];
      f[1] = -out[0];
      jac[0] = out[1];
      jac[1] = -out[1];
      jac[2] = -out[1];
      jac[3] = out[1];
    },
    limit(from, next) {
      const was = from[0] - from[1];
      const wants = next[0] - next[1];
      const allowed = limitDiode(law, was, wants, out);
      if (allowed === wants) return false;
      // The volts belong to the junction: which terminal gives way does not matter to it.
      next[1] = next[0] - allowed;
      return true;
    },
  };
}

/**
 * A step up an exponential: the volts at which the law carries no more than the current the step was meant to bring.
 * A zener's breakdown is such a step on the other side.
 */
function limitDiode(law: DiodeLaw, was: number, wants: number, out: Float64Array): number {
  law.evaluate(was, out);
  const amps = out[0];
  const slope = out[1];
  const meant = amps + slope * (wants - was);
  law.evaluate(wants, out);
  const reached = out[0];
  const excess = Math.abs(reached - meant);
  if (excess <= 2 * Math.abs(meant - amps) + 1e-3 || Math.sign(reached - amps) !== Math.sign(wants - was)) {
    return wants;
  }
  const aim = Math.abs(meant - amps) < 1e-4 ? amps + Math.sign(wants - was) * 1e-4 : meant;
  let near = was;
  let far = wants;
  for (let k = 0; k < 40 && Math.abs(far - near) > 1e-6; k++) {
    const middle = 0.5 * (near + far);
    law.evaluate(middle, out);
    if (Math.abs(out[0] - amps) < Math.abs(aim - amps)) near = middle;
    else far = middle;
  }
  return far;
}

/** Places of a valve section's electrodes among its terminals. */
export const GRID = 0;
export const SCREEN = 1;
export const PLATE = 2;
export const CATHODE = 3;

/** Grid volts that a Newton step may reach from at or below zero, and how it grows from there. */
const GRID_STEP_VOLTS = 1;
/** The same for plate and screen: what counts as near the cathode, the part left by one fall, how far one rise goes from there. */
const PLATE_NEAR_VOLTS = 1;
const PLATE_FALL = 0.2;
const PLATE_RISE_VOLTS = 50;

export interface SectionDevice extends DcDevice {
  readonly nodes: number[];
  /** An electrode that nothing fixes: taken at its cathode's volts, and drawing nothing. */
  release(terminal: number): void;
}

/**
 * A valve section: grid, screen, plate, cathode. A triode's screen is released at once.
 * @param spread fraction by which the currents of valves of one type differ
 */
export function section(reference: string, nodes: number[], law: SectionLaw, spread: number): SectionDevice {
  const out = new Float64Array(12);
  const released = [false, false, false, false];
  const at = (x: Float64Array, terminal: number): number =>
    released[terminal] ? 0 : x[terminal] - x[CATHODE];
  return {
    reference,
    nodes,
    branches: 0,
    linear: false,
    paths: [
      [PLATE, CATHODE],
      [SCREEN, CATHODE],
    ],
    release(terminal) {
      released[terminal] = true;
      nodes[terminal] = nodes[CATHODE];
    },
    evaluate(x, f, jac) {
      law.evaluate(at(x, GRID), at(x, SCREEN), at(x, PLATE), out);
      if (released[GRID]) {
        out[2] = 0;
        out[9] = 0;
        out[10] = 0;
        out[11] = 0;
      }
      f[GRID] = out[2];
      f[SCREEN] = out[1];
      f[PLATE] = out[0];
      f[CATHODE] = -(out[0] + out[1] + out[2]);
      row(jac, GRID, out[9], out[10], out[11], released);
      row(jac, SCREEN, out[6], out[7], out[8], released);
      row(jac, PLATE, out[3], out[4], out[5], released);
      for (let c = 0; c < 4; c++) jac[12 + c] = -(jac[c] + jac[4 + c] + jac[8 + c]);
    },
    limit(from, next) {
      // Grid first: its cathode's volts stay, the plate's and screen's are then held against them.
      let limited = false;
      if (!released[GRID]) {
        const wants = next[GRID] - next[CATHODE];
        const allowed = limitGrid(from[GRID] - from[CATHODE], wants);
        if (allowed !== wants) {
          next[GRID] = next[CATHODE] + allowed;
          limited = true;
        }
      }
      for (let terminal = SCREEN; terminal <= PLATE; terminal++) {
        if (released[terminal]) continue;
        const wants = next[terminal] - next[CATHODE];
        const allowed = limitPlate(from[terminal] - from[CATHODE], wants);
        if (allowed !== wants) {
          next[terminal] = next[CATHODE] + allowed;
          limited = true;
        }
      }
      return limited;
    },
    parameters:
      spread > 0
        ? [
            {
              reference: reference.replace(/\.[^.]*$/, ""),
              tolerance: spread,
              derivative(x, into) {
                law.evaluate(at(x, GRID), at(x, SCREEN), at(x, PLATE), out);
                into[GRID] = released[GRID] ? 0 : out[2];
                into[SCREEN] = out[1];
                into[PLATE] = out[0];
                into[CATHODE] = -(into[GRID] + out[1] + out[0]);
              },
            },
          ]
        : undefined,
  };
}

function limitGrid(was: number, wants: number): number {
  return Math.min(wants, was > 0 ? 2 * was + GRID_STEP_VOLTS : GRID_STEP_VOLTS);
}

/**
 * Below its cathode a plate draws nothing and has no slope, and a straight line from far above lands there: close in by a
 * fraction instead, and come back by a multiple.
 */
function limitPlate(was: number, wants: number): number {
  if (wants < was) return Math.max(wants, was > PLATE_NEAR_VOLTS ? PLATE_FALL * was : was - PLATE_NEAR_VOLTS);
  return was < PLATE_NEAR_VOLTS ? Math.min(wants, PLATE_RISE_VOLTS) : wants;
}

function row(
  jac: Float64Array,
  at: number,
  byGrid: number,
  byScreen: number,
  byPlate: number,
  off: boolean[],
) {
  const g = off[GRID] ? 0 : byGrid;
  const s = off[SCREEN] ? 0 : byScreen;
  const p = off[PLATE] ? 0 : byPlate;
  jac[4 * at] = g;
  jac[4 * at + 1] = s;
  jac[4 * at + 2] = p;
  jac[4 * at + 3] = -(g + s + p);
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
