/**
 * Plate current of a triode by the smoothed three-halves law of N. Koren (Glass Audio 8, no. 5, 1996):
 *
 *   E  = Vp/kp * ln(1 + exp(kp * (1/mu + Vg / sqrt(kvb + Vp^2))))
 *   Ip = 2 * E^x / kg
 *
 * and zero for a plate at or below its cathode, where Vp is taken with a rounded foot. Value and slope are continuous
 * everywhere; both slopes are never negative.
 */
import type { TriodeParameters } from "../../facts/valves/fit-file.ts";
import type { SectionLaw } from "../device.ts";
import { gridCurrent } from "./grid.ts";
import { collecting, collectingSlope, logistic, softplus } from "./smooth.ts";

export function triodeLaw(p: TriodeParameters): SectionLaw {
  const scale = 2 / p.kg;
  const inverseMu = 1 / p.mu;
  return {
    evaluate(vg, _vs, plateVolts, out) {
      out.fill(0);
      const vp = collecting(plateVolts);
      if (vp > 1e-200) {
        const q2 = p.kvb + vp * vp;
        const q = Math.sqrt(q2);
        const z = p.kp * (inverseMu + vg / q);
        const soft = softplus(z);
        const share = logistic(z);
        const e = (vp / p.kp) * soft;
        const power = scale * Math.exp((p.x - 1) * Math.log(e));
        const slope = p.x * power;
        out[0] = power * e;
        out[3] = slope * ((vp * share) / q);
        out[5] = slope * (soft / p.kp - (vp * vp * vg * share) / (q2 * q)) * collectingSlope(plateVolts);
      }
      gridCurrent(p.grid, vg, out, 2, 9);
    },
  };
}
