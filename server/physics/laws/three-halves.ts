/**
 * The three-halves law itself (Child 1911, Langmuir 1913), as textbooks write it:
 *
 *   triode   Ia = k * (Vgk + Vak/mu)^1.5
 *   pentode  Ik = k * (Vg1k + Vg2k/mu)^1.5, the plate's share of it fixed, the plate's volts without effect
 *
 * zero where the bracket is negative; no grid current. Within two volts of the cathode the plate's (and the screen's)
 * collection fades out, so that an electrode below the cathode draws nothing.
 */
import type { SectionLaw } from "../device.ts";

const FADE_VOLTS = 2;

/** 0 below zero, 1 above the fade, smooth between. */
function collected(volts: number): number {
  if (volts <= 0) return 0;
  if (volts >= FADE_VOLTS) return 1;
  const t = volts / FADE_VOLTS;
  return t * t * (3 - 2 * t);
}
function collectedSlope(volts: number): number {
  if (volts <= 0 || volts >= FADE_VOLTS) return 0;
  const t = volts / FADE_VOLTS;
  return (6 * t * (1 - t)) / FADE_VOLTS;
}

/** @param k amperes per volt^1.5 */
export function threeHalvesTriode(k: number, mu: number): SectionLaw {
  return {
    evaluate(vg, _vs, vp, out) {
      out.fill(0);
      const e = vg + vp / mu;
      if (e <= 0) return;
      const root = Math.sqrt(e);
      const whole = k * e * root;
      const slope = 1.5 * k * root;
      const part = collected(vp);
      out[0] = whole * part;
      out[3] = slope * part;
      out[5] = (slope / mu) * part + whole * collectedSlope(vp);
    },
  };
}

/** @param k amperes per volt^1.5; @param plateShare 0..1 */
export function threeHalvesPentode(k: number, mu: number, plateShare: number): SectionLaw {
  return {
    evaluate(vg, vs, vp, out) {
      out.fill(0);
      const e = vg + vs / mu;
      if (e <= 0) return;
      const root = Math.sqrt(e);
      const whole = k * e * root;
      const slope = 1.5 * k * root;
      const plate = plateShare * collected(vp);
      const screen = (1 - plateShare) * collected(vs);
      out[0] = whole * plate;
      out[3] = slope * plate;
      out[4] = (slope / mu) * plate;
      out[5] = whole * plateShare * collectedSlope(vp);
      out[1] = whole * screen;
      out[6] = slope * screen;
      out[7] = (slope / mu) * screen + whole * (1 - plateShare) * collectedSlope(vs);
    },
  };
}
