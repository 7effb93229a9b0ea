/**
 * Textbook stages with a stated three-halves law, solved outside the project (scipy and closed forms), to 0.5 %: the
 * law of a user's own type, written as such a type is, and solved here by bisection.
 */
import { describe, expect, test } from "vitest";
import { userValves } from "../../server/facts/valves/user.ts";
import type { SectionLaw } from "../../server/physics/device.ts";
import { lawsWith } from "../../server/physics/laws/user.ts";

function lawOf(type: Record<string, unknown>): SectionLaw {
  const { valves, problems } = userValves({ type: "OWN", ...type });
  expect(problems).toEqual([]);
  return lawsWith(valves).section("own", "")!;
}
const triode = (k: number, mu: number) => lawOf({ kind: "triode", law: { k_mA_per_V1p5: k, mu } });

const out = new Float64Array(12);
function at(law: SectionLaw, vg: number, vp: number, vs = 0): Float64Array {
  law.evaluate(vg, vs, vp, out);
  return out;
}

/** The x in [low, high] where a rising function crosses zero. */
function bisect(low: number, high: number, f: (x: number) => number): number {
  let a = low;
  let b = high;
  for (let i = 0; i < 80; i++) {
    const m = (a + b) / 2;
    if (f(m) > 0) b = m;
    else a = m;
  }
  return (a + b) / 2;
}

/** Plate current of a resistance-loaded triode with a cathode resistor; grid at `vg` from common. */
const stage = (law: SectionLaw, supply: number, ra: number, rk: number, vg = 0) =>
  bisect(0, 0.1, (i) => i - at(law, vg - i * rk, supply - i * (ra + rk))[0]);

const close = (got: number, expected: number) => expect(Math.abs(got / expected - 1)).toBeLessThan(0.005);

describe("self-biased triodes: current, slopes and gains", () => {
  test.each([
    // k mA/V^1.5, mu, supply, Ra, Rk -> Ia mA, gm mA/V, rp, gain bypassed, gain not bypassed
    [0.942809, 20, 350, 47000, 1000, 4.3339, 2.3514, 8505.4, 16.935, 12.287],
    [0.679179, 17, 250, 100000, 2200, 1.5773, 1.3491, 12601, 15.098, 11.169],
    [1.16758, 70, 300, 220000, 3300, 0.56535, 1.3753, 50899, 56.848, 30.483],
    [3.39411, 100, 250, 220000, 2700, 0.4543, 2.6043, 38398, 85.14, 41.424],
    [0.942809, 20, 250, 22000, 470, 5.7496, 2.5838, 7740.6, 14.795, 11.108],
    [3.39411, 100, 400, 100000, 820, 1.8261, 4.1408, 24150, 80.548, 48.316],
  ])("k %s mu %s from %s V through %s and %s ohm", (k, mu, supply, ra, rk, mA, gm, rp, gain, degenerate) => {
    const law = triode(k, mu);
    const i = stage(law, supply, ra, rk);
    close(i * 1000, mA);
    const o = at(law, -i * rk, supply - i * (ra + rk));
    close(o[3] * 1000, gm);
    close(1 / o[5], rp);
    close(o[3] / (o[5] + 1 / ra), gain);
    close((o[3] / o[5]) * (ra / (ra + 1 / o[5] + (o[3] / o[5] + 1) * rk)), degenerate);
  });
});

describe("other stages", () => {
  test("fixed bias, at and below the cathode", () => {
    close(stage(triode(3.39411, 100), 250, 220000, 0, 0) * 1000, 0.94285);
    close(stage(triode(0.942809, 20), 300, 33000, 0, -6) * 1000, 3.8943);
  });
  test("two triodes on one cathode resistor", () => {
    const law = triode(3.39411, 100);
    const plate = (ra: number, vk: number) => bisect(0, 0.1, (i) => i - at(law, -vk, 325 - i * ra - vk)[0]);
    const vk = bisect(0, 20, (v) => v - 1000 * (plate(1e5, v) + plate(2.2e5, v)));
    close(vk, 1.6678);
    close(plate(1e5, vk) * 1000, 1.0951);
    close(plate(2.2e5, vk) * 1000, 0.57277);
  });
  test.each([
    [3.39411, 100, 300, 1e5, 1500, 198.5, 198.81, 1.9881],
    [3.39411, 100, 300, 1e5, 820, 165.43, 166.14, 1.6614],
    [1.16758, 70, 280, 2.2e5, 2700, 153.68, 154.27, 1.5427],
  ])("a direct-coupled cathode follower: k %s mu %s", (k, mu, supply, ra, rk, va, vk, mA) => {
    const law = triode(k, mu);
    const plate = supply - stage(law, supply, ra, rk) * ra;
    close(plate, va);
    const cathode = bisect(0, supply, (v) => v / 1e5 - at(law, plate - v, supply - v)[0]);
    close(cathode, vk);
    close((cathode / 1e5) * 1000, mA);
  });
  test("a follower whose first valve does not conduct, grid above the cathode", () => {
    const law = triode(0.942809, 20);
    const cathode = bisect(0, 400, (v) => v / 33000 - at(law, 350 - v, 350 - v)[0]);
    close(cathode, 345.26);
  });
  test.each([
    [3.39411, 100, 300, 1e5, 470, 1e4, 1.1674, 24.444],
    [1.16758, 70, 330, 82000, 680, 47000, 0.98192, 93.636],
  ])("a long-tailed pair on its own tail: k %s mu %s", (k, mu, supply, ra, bias, tail, mA, vk) => {
    const law = triode(k, mu);
    const cathode = bisect(0, supply, (v) => {
      const i = v / (bias + tail) / 2;
      const vg = (v * tail) / (bias + tail);
      return i - at(law, vg - v, supply - i * ra - v)[0];
    });
    close(cathode, vk);
    close((cathode / (bias + tail) / 2) * 1000, mA);
  });
  test("a long-tailed pair with unlike loads, direct coupled", () => {
    const law = triode(3.39411, 100);
    const plate = (ra: number, v: number) => bisect(0, 0.1, (i) => i - at(law, 75 - v, 350 - i * ra - v)[0]);
    const vk = bisect(60, 100, (v) => v / 47000 - plate(1e5, v) - plate(1.1e5, v));
    close(vk, 76.496);
    close(plate(1e5, vk) * 1000, 0.84357);
    close(plate(1.1e5, vk) * 1000, 0.78401);
  });
  test("split loads, grid fixed and direct coupled", () => {
    close(stage(triode(0.679179, 17), 350, 33000, 33000, 85) * 1000, 2.7932);
    const law = triode(3.39411, 100);
    const first = 220 - stage(law, 220, 220000, 820) * 220000;
    close(first, 83.563);
    close(stage(law, 320, 56000, 56000, first) * 1000, 1.5088);
  });
  test.each([
    [1, 135, 250, 7.0328, 46.74, 5.3556],
    [2, 270, 300, 11.916, 39.597, 4.5372],
  ])("%s pentodes on a cathode resistor of %s ohm", (valves, rk, supply, vk, plate, screen) => {
    const law = lawOf({ kind: "pentode", law: { k_mA_per_V1p5: 3.77347, mu: 19, plate_share: 0.897196 } });
    const cathode = bisect(0, 50, (v) => {
      const o = at(law, -v, supply - v, supply - v);
      return v / rk - valves * (o[0] + o[1]);
    });
    const o = at(law, -cathode, supply - cathode, supply - cathode);
    close(cathode, vk);
    close(o[0] * valves * 1000, plate);
    close(o[1] * valves * 1000, screen);
  });
});
