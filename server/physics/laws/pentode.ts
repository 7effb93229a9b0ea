/**
 * Plate and screen current of pentodes and beam tetrodes.
 *
 * The current that leaves the cathode's space charge is a smoothed power law of the grids, in the manner of N. Koren
 * (Glass Audio 8, no. 5, 1996), with the plate's own small field kept in it:
 *
 *   E  = w * ln(1 + exp((Vg + Vs/mu + Vp/mup) / w)),   w = S/kp, S the screen's volts (positive part)
 *   Ik = 2 * E^x / kg
 *
 * Plate and screen share it. With u = (Vp/Vk)^x and the knee Vk = knee*E + knee0, the plate's part is
 *
 *   h  = u / (1 + u^m)^(1/m)
 *
 * (Vp with a rounded foot at the cathode) which far below the knee makes the curves of all grid volts run together into one (Ip ~ Vp^x, as printed families
 * do), and above it goes to 1; m is the sharpness of the knee. Then
 *
 *   Ip = Ik * (1 - s) * h,   Is = Ik * (s + t*(1 - h)),
 *   s = s0 * (1 + r) / (1 + r*Vp/S) * (2*c / (1 + c))^l,   c = E*mu/S
 *
 * s0 the screen's share where plate and screen stand at the same volts without bias, r how it falls as the plate goes
 * higher (current division after F. Tank, Jahrbuch der drahtlosen Telegraphie 20, 1922), l how it falls as a negative
 * grid focuses the current between the screen's wires, t the part of the current turned back from a low plate that the
 * screen collects. Screens at or below the cathode collect nothing. Value and first derivatives are
 * continuous everywhere.
 */
import type { PentodeParameters } from "../../facts/valves/fit-file.ts";
import type { SectionLaw } from "../device.ts";
import { gridCurrent } from "./grid.ts";
import { collecting, collectingSlope, logistic, softplus } from "./smooth.ts";

/** Below about this a screen's field no longer shapes the current; keeps the law defined at no screen volts at all. */
const SCREEN_FLOOR_VOLTS = 10;

export function pentodeLaw(p: PentodeParameters): SectionLaw {
  const scale = 2 / p.kg;
  const inverseMu = 1 / p.mu;
  const inverseMup = 1 / p.mup;
  const floor2 = SCREEN_FLOOR_VOLTS * SCREEN_FLOOR_VOLTS;
  return {
    evaluate(vg, vs, vp, out) {
      out.fill(0);
      gridCurrent(p.grid, vg, out, 2, 9);
      // Positive part of the screen's volts, smooth, never zero.
      const root = Math.sqrt(vs * vs + floor2);
      const s = vs >= 0 ? 0.5 * (vs + root) : (0.5 * floor2) / (root - vs);
      const sByVs = s / root;
      const w = s / p.kp;
      const wByVs = sByVs / p.kp;
      const a = vg + vs * inverseMu + vp * inverseMup;
      const z = a / w;
      const soft = softplus(z);
      const sigma = logistic(z);
      const e = w * soft;
      if (e < 1e-12) return;
      const eByG = sigma;
      const eByP = sigma * inverseMup;
      const eByS = sigma * inverseMu + wByVs * (soft - sigma * z);
      // Powers by logarithms: several share one, and it is the faster way.
      const logE = Math.log(e);
      const power = scale * Math.exp((p.x - 1) * logE);
      const ik = power * e;
      const ikByE = p.x * power;

      // The plate's collecting part h, zero for a plate at or below the cathode.
      let h = 0;
      let hByU = 0;
      let uByP = 0;
      let uByE = 0;
      const near = collecting(vp);
      if (near > 1e-200) {
        const knee = p.knee * e + p.knee0;
        const logU = p.x * Math.log(near / knee);
        const u = Math.exp(logU);
        uByP = ((p.x * u) / near) * collectingSlope(vp);
        uByE = (-p.x * u * p.knee) / knee;
        const logUm = p.m * logU;
        if (logUm < 34) {
          const um = Math.exp(logUm);
          const back = Math.exp(-Math.log1p(um) / p.m);
          h = u * back;
          hByU = back / (1 + um);
        } else h = 1;
      }
      const hByE = hByU * uByE;
      const hByP = hByU * uByP;

      // The screen's share s above the knee, and the gate that keeps a negative screen from collecting.
      let gate = 0;
      let gateByS = 0;
      if (vs > 0) {
        const d = vs * vs + floor2;
        gate = (vs * vs) / d;
        gateByS = (2 * vs * floor2) / (d * d);
      }
      const plus = vp > 0 ? (vp * vp) / (vp + SCREEN_FLOOR_VOLTS) : 0;
      const plusByP = vp > 0 ? (vp * (vp + 2 * SCREEN_FLOOR_VOLTS)) / (vp + SCREEN_FLOOR_VOLTS) ** 2 : 0;
      const ratio = plus / s;
      const below = 1 / (1 + p.fall * ratio);
      const c = (e * p.mu) / s;
      const focus = Math.exp(p.lean * Math.log((2 * c) / (1 + c)));
      const share = gate * p.share * (1 + p.fall) * below * focus;
      const shareByE = share < 1 ? (share * p.lean) / (e * (1 + c)) : 0;
      const most = Math.min(share, 1);
      const shareByRatio = -share * p.fall * below;
      const shareByP = share < 1 ? (shareByRatio * plusByP) / s : 0;
      const shareByS =
        share < 1
          ? ((shareByRatio * -ratio - (share * p.lean) / (1 + c)) * sByVs) / s +
            (gate > 0 ? (share * gateByS) / gate : 0)
          : 0;
      const turned = gate * p.turned;

      const plateShare = (1 - most) * h;
      out[0] = ik * plateShare;
      const plateByE = ikByE * plateShare + ik * ((1 - most) * hByE - h * shareByE);
      out[3] = plateByE * eByG;
      out[4] = plateByE * eByS - ik * h * shareByS;
      out[5] = plateByE * eByP + ik * ((1 - most) * hByP - h * shareByP);

      const screenShare = most + turned * (1 - h);
      out[1] = ik * screenShare;
      const screenByE = ikByE * screenShare + ik * (shareByE - turned * hByE);
      out[6] = screenByE * eByG;
      out[7] = screenByE * eByS + ik * (shareByS + p.turned * gateByS * (1 - h));
      out[8] = screenByE * eByP + ik * (shareByP - turned * hByP);
    },
  };
}
