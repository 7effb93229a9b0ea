/**
 * Semiconductors: an exponential junction (W. Shockley, Bell System Technical Journal 28, 1949) with a series
 * resistance, V = nVt * ln(1 + I/Is) + I*R, solved for the current; and a zener diode with its slope resistance.
 */
import { semiconductorPractice } from "../../facts/valves/practice.ts";
import type { DiodeLaw } from "../device.ts";
import { logistic, softplus } from "./smooth.ts";

/**
 * @param forwardVolts printed forward volts at `forwardAmps`
 */
export function junctionLaw(forwardVolts: number, forwardAmps: number): DiodeLaw {
  const { slopeVolts, kneeVolts, kneeAmps, leastOhms } = semiconductorPractice;
  const { lightVolts, lightMostAmps, lightSlopeVolts, lightOhms } = semiconductorPractice;
  if (forwardVolts >= lightVolts && forwardAmps <= lightMostAmps) {
    const across = forwardVolts - forwardAmps * lightOhms;
    return seriesJunction(forwardAmps / Math.expm1(across / lightSlopeVolts), lightSlopeVolts, lightOhms);
  }
  const saturation = kneeAmps / Math.expm1(kneeVolts / slopeVolts);
  const junction = slopeVolts * Math.log1p(forwardAmps / saturation);
  const ohms = Math.max((forwardVolts - junction) / forwardAmps, leastOhms);
  return seriesJunction(saturation, slopeVolts, ohms);
}

/**
 * Explicit current of a junction in series with a resistance. With I + Is = (nVt/R)*w, w + ln w = y, where
 * y = ln(Is*R/nVt) + (V + Is*R)/nVt: w is the Wright omega function of y.
 */
function seriesJunction(saturation: number, slopeVolts: number, ohms: number): DiodeLaw {
  const scale = slopeVolts / ohms;
  const offset = Math.log(saturation / scale) + saturation / scale;
  return {
    evaluate(volts, out) {
      const w = wrightOmega(offset + volts / slopeVolts);
      out[0] = scale * w - saturation;
      // dw/dy = w / (1 + w)
      out[1] = w / (1 + w) / ohms;
    },
    inverse(amps, out) {
      out[0] = slopeVolts * Math.log1p(amps / saturation) + ohms * amps;
      out[1] = slopeVolts / (amps + saturation) + ohms;
    },
  };
}

/** The w > 0 with w + ln w = y. */
export function wrightOmega(y: number): number {
  if (y < -30) return Math.exp(y);
  // Start above: asymptotic forms either side, then Halley steps on ln w.
  let w = y > 1 ? y - Math.log(y) : Math.exp(y - 0.5671432904 * logistic(y + 0.5));
  for (let i = 0; i < 6; i++) {
    const r = y - w - Math.log(w);
    if (Math.abs(r) < 1e-14 * (1 + Math.abs(y))) break;
    const step = (r * w) / (1 + w + (0.5 * r) / (1 + w));
    w = Math.max(w + step, w * 1e-3);
  }
  return w;
}

/**
 * A zener diode, anode to cathode volts: forward a junction, and past its zener volts a slope resistance. At exactly its
 * nominal volts it carries the test current of practice.
 */
export function zenerLaw(volts: number, slopeOhms: number): DiodeLaw {
  const { zenerTestAmps, forwardVolts, forwardAmps } = semiconductorPractice;
  const forward = junctionLaw(forwardVolts, forwardAmps);
  const ohms = Math.max(slopeOhms, 0.01);
  const width = Math.max((zenerTestAmps * ohms) / Math.LN2, 0.005);
  return {
    evaluate(v, out) {
      forward.evaluate(v, out);
      const z = (-v - volts) / width;
      out[0] -= (width * softplus(z)) / ohms;
      out[1] += logistic(z) / ohms;
    },
  };
}
