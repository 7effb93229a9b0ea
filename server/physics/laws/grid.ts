/**
 * Grid current: the grid and cathode as a diode. Above its contact potential it follows the three-halves law of
 * Child (1911) and Langmuir (1913); below it the cathode's emission velocities let the current fall e-fold in about a
 * tenth of a volt. The plate's part in it is left out: a grid near or above its plate takes more than this.
 */
import type { GridParameters } from "../../facts/valves/fit-file.ts";
import { logistic, softplus } from "./smooth.ts";

/** Widths below the contact potential at which no electron an hour arrives: spare the exponentials. */
const NOTHING = -50;

/**
 * @param vg  grid to cathode, volts
 * @param out grid amperes at `at`, d/dvg at `atSlope`
 */
export function gridCurrent(
  p: GridParameters,
  vg: number,
  out: Float64Array,
  at: number,
  atSlope: number,
): void {
  const z = (vg - p.contactVolts) / p.widthVolts;
  if (z < NOTHING) {
    out[at] = 0;
    out[atSlope] = 0;
    return;
  }
  const e = p.widthVolts * softplus(z);
  const root = Math.sqrt(e);
  out[at] = p.perveance * e * root;
  out[atSlope] = 1.5 * p.perveance * root * logistic(z);
}
