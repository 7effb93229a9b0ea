/** Rectifiers that conduct already when a supply is switched on: the peak into empty reservoirs. */
import { solveDense } from "../linear/dense.ts";
import { doubles } from "../linear/slabs.ts";
import type { Multiport } from "./multiport.ts";
import type { Port } from "./ports.ts";

/**
 * Amperes of the ports at one instant with every capacitor empty and every choke without current. All inputs but the mains are
 * taken as they are, without load.
 * @param mainsVolts at that instant
 */
export function switchedOn(net: Multiport, ports: readonly Port[], mainsVolts: number): Float64Array {
  const { np, Vu, Z, nu } = net;
  const law2 = new Float64Array(2);
  const v = doubles(np);
  const i = doubles(np);
  const jac = doubles(np * np);
  const f = doubles(np);
  let before = Number.POSITIVE_INFINITY;
  for (let k = 0; k < 200; k++) {
    for (let p = 0; p < np; p++) {
      ports[p].law.evaluate(v[p], law2);
      i[p] = law2[0];
      f[p] = law2[1];
    }
    for (let p = 0; p < np; p++) {
      for (let q = 0; q < np; q++) jac[p * np + q] = (p === q ? 1 : 0) + Z[p * np + q] * f[q];
    }
    for (let p = 0; p < np; p++) {
      let s = Vu[p * nu] * mainsVolts + Vu[p * nu + 1] - v[p];
      for (let q = 0; q < np; q++) s -= Z[p * np + q] * i[q];
      f[p] = s;
    }
    solveDense(jac, f, np, 1);
    let size = 0;
    for (let p = 0; p < np; p++) size = Math.max(size, Math.abs(f[p]));
    const part = k > 20 && size > 0.5 * before ? 0.5 : 1;
    for (let p = 0; p < np; p++) v[p] += part * f[p];
    before = size;
    if (!(size > 1e-9)) break;
  }
  return i;
}
