/**
 * One plate of a rectifier valve: I = k * V^1.5 (Child 1911, Langmuir 1913), k from the published drop. Towards and
 * below zero the emission velocities round the foot off within a fraction of a volt, so that value and slope are
 * continuous and nothing flows backwards.
 */
import type { DiodeLaw } from "../device.ts";
import { logistic, softplus } from "./smooth.ts";

/** A tenth of a volt: the emission velocities of an oxide cathode (kT/e near 0.09 V). */
const FOOT_VOLTS = 0.09;

/** @param perveance amperes at one volt */
export function perveanceLaw(perveance: number): DiodeLaw {
  return {
    evaluate(volts, out) {
      const z = volts / FOOT_VOLTS;
      const e = FOOT_VOLTS * softplus(z);
      const root = Math.sqrt(e);
      out[0] = perveance * e * root;
      out[1] = 1.5 * perveance * root * logistic(z);
    },
    inverse(amps, out) {
      const x = amps / perveance;
      const e = Math.cbrt(x * x);
      const z = e / FOOT_VOLTS;
      const fall = Math.exp(-z);
      out[0] = e + FOOT_VOLTS * (z > 1e-3 ? Math.log1p(-fall) : Math.log(-Math.expm1(-z)));
      out[1] = ((2 / 3) * (e / amps)) / (z > 1e-3 ? 1 - fall : -Math.expm1(-z));
    },
  };
}

/** @returns amperes per volt^1.5 through the published point. */
export function perveanceFromDrop(amps: number, volts: number): number {
  return amps / volts ** 1.5;
}
