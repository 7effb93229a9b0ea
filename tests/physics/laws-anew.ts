/**
 * The valves' laws written anew from the formulas that `server/physics/laws` states, without slopes or care for speed: nothing but
 * the parameters is the program's.
 */
import type { LawParameters } from "../../server/facts/valves/fit-file.ts";
import { fits } from "../../server/facts/valves/fits.ts";

const softened = (z: number) => (z > 40 ? z : Math.log1p(Math.exp(z)));
const collected = (volts: number) => (volts > 0 ? (volts * volts) / (volts + 0.5) : 0);

/** Plate, screen and grid amperes at the volts of grid, screen and plate to the cathode. */
export type Anew = (vg: number, vs: number, vp: number) => readonly [number, number, number];

export function lawAnew(type: string, section = ""): Anew {
  const p: LawParameters = fits[type][section] ?? fits[type][""];
  const { perveance, contactVolts, widthVolts } = p.grid;
  const gridAmps = (vg: number) =>
    perveance * (widthVolts * softened((vg - contactVolts) / widthVolts)) ** 1.5;
  if (p.law === "triode")
    return (vg, _vs, plate) => {
      const vp = collected(plate);
      const e = vp > 0 ? (vp / p.kp) * softened(p.kp * (1 / p.mu + vg / Math.sqrt(p.kvb + vp * vp))) : 0;
      return [(2 * e ** p.x) / p.kg, 0, gridAmps(vg)];
    };
  return (vg, vs, vp) => {
    const s = 0.5 * (vs + Math.sqrt(vs * vs + 100));
    const w = s / p.kp;
    const e = w * softened((vg + vs / p.mu + vp / p.mup) / w);
    if (e < 1e-12) return [0, 0, gridAmps(vg)];
    const whole = (2 * e ** p.x) / p.kg;
    const u = (collected(vp) / (p.knee * e + p.knee0)) ** p.x;
    const h = u / (1 + u ** p.m) ** (1 / p.m);
    const far = vp > 0 ? (vp * vp) / (vp + 10) : 0;
    const gate = vs > 0 ? (vs * vs) / (vs * vs + 100) : 0;
    const c = (e * p.mu) / s;
    const share = Math.min(
      1,
      (gate * p.share * (1 + p.fall) * ((2 * c) / (1 + c)) ** p.lean) / (1 + (p.fall * far) / s),
    );
    return [whole * (1 - share) * h, whole * (share + gate * p.turned * (1 - h)), gridAmps(vg)];
  };
}

/** Where a rising function crosses nought. */
export function crossing(f: (x: number) => number, low: number, high: number): number {
  let [a, b] = [low, high];
  for (let k = 0; k < 70; k++) {
    const m = 0.5 * (a + b);
    if (f(m) > 0) b = m;
    else a = m;
  }
  return 0.5 * (a + b);
}
