import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { fits } from "../../server/facts/valves/fits.ts";
import { valveTypes } from "../../server/facts/valves/index.ts";
import type { DiodeLaw, SectionLaw } from "../../server/physics/device.ts";
import { rectifierLaw, sectionLaw, semiconductorLaw, zenerLaw } from "../../server/physics/laws/index.ts";
import { wrightOmega } from "../../server/physics/laws/semiconductor.ts";
import { threeHalvesPentode, threeHalvesTriode } from "../../server/physics/laws/three-halves.ts";

const fitted = Object.entries(fits).flatMap(([type, sections]) =>
  Object.keys(sections).map((name) => [type, name] as const),
);
const laws: readonly (readonly [string, SectionLaw])[] = [
  ...fitted.map(([type, name]) => [`${type} ${name}`.trim(), sectionLaw(type, name)!] as const),
  ["three-halves triode", threeHalvesTriode(0.00094, 20)],
  ["three-halves pentode", threeHalvesPentode(0.0038, 19, 0.9)],
];

/** Any volts that a Newton iteration may come by, near ones as often as far ones. */
const volts = (most: number) =>
  fc.oneof(
    fc.double({ min: -most, max: most, noNaN: true }),
    fc.double({ min: -3, max: 3, noNaN: true }),
    fc.constantFrom(0, -0, 1e-9, -1e-9),
  );

const step = 1e-4;
/** Central difference of output `k` by electrode `axis` (0 grid, 1 screen, 2 plate), and the derivatives at both ends. */
function difference(law: SectionLaw, at: readonly [number, number, number], axis: number, k: number) {
  const a: [number, number, number] = [...at];
  const out = new Float64Array(12);
  a[axis] = at[axis] + step;
  law.evaluate(...a, out);
  const up = out[k];
  const slopeUp = out[3 + 3 * k + axis];
  a[axis] = at[axis] - step;
  law.evaluate(...a, out);
  return { numeric: (up - out[k]) / (2 * step), slopeUp, slopeDown: out[3 + 3 * k + axis] };
}

describe.each(laws)("law of %s", (_, law) => {
  test("is finite and never negative, for any volts", () => {
    fc.assert(
      fc.property(volts(3000), volts(3000), volts(3000), (vg, vs, vp) => {
        const out = new Float64Array(12).fill(Number.NaN);
        law.evaluate(vg, vs, vp, out);
        expect(out.every(Number.isFinite)).toBe(true);
        expect(Math.min(out[0], out[1], out[2])).toBeGreaterThanOrEqual(0);
      }),
      { numRuns: 300, seed: 4 },
    );
  });

  test("its derivatives are those of its values", () => {
    fc.assert(
      fc.property(volts(60), volts(500), volts(600), (vg, vs, vp) => {
        const out = new Float64Array(12);
        law.evaluate(vg, vs, vp, out);
        for (let k = 0; k < 3; k++)
          for (let axis = 0; axis < 3; axis++) {
            const analytic = out[3 + 3 * k + axis];
            const { numeric, slopeUp, slopeDown } = difference(law, [vg, vs, vp], axis, k);
            // A mean of the derivative over the step: it lies among those along it, however sharply they change.
            const room = 1e-5 * Math.max(Math.abs(analytic), Math.abs(slopeUp), Math.abs(slopeDown)) + 1e-9;
            expect(numeric).toBeGreaterThanOrEqual(Math.min(analytic, slopeUp, slopeDown) - room);
            expect(numeric).toBeLessThanOrEqual(Math.max(analytic, slopeUp, slopeDown) + room);
            // And continuous: the ends of the step differ by little.
            expect(Math.abs(slopeUp - slopeDown)).toBeLessThan(0.03 * Math.abs(analytic) + 3e-4);
          }
      }),
      { numRuns: 400, seed: 4 },
    );
  });

  test("more positive grids never mean less plate, screen or grid current", () => {
    fc.assert(
      fc.property(
        volts(500),
        volts(500),
        volts(800),
        fc.double({ min: 1e-3, max: 50, noNaN: true }),
        (vg, vs, vp, rise) => {
          const low = new Float64Array(12);
          const high = new Float64Array(12);
          law.evaluate(vg, vs, vp, low);
          law.evaluate(vg + rise, vs, vp, high);
          for (let k = 0; k < 3; k++) {
            expect(high[k]).toBeGreaterThanOrEqual(low[k] * (1 - 1e-12) - 1e-20);
            expect(low[3 + 3 * k]).toBeGreaterThanOrEqual(0);
          }
        },
      ),
      { numRuns: 300, seed: 4 },
    );
  });

  test("a higher plate never draws less, nor a plate below its cathode anything", () => {
    fc.assert(
      fc.property(volts(60), fc.double({ min: 0, max: 500, noNaN: true }), volts(600), (vg, vs, vp) => {
        const out = new Float64Array(12);
        law.evaluate(vg, vs, vp, out);
        expect(out[5]).toBeGreaterThanOrEqual(-1e-12);
        if (vp <= 0) expect(out[0]).toBe(0);
      }),
      { numRuns: 300, seed: 4 },
    );
  });
});

const diodes: readonly (readonly [string, DiodeLaw])[] = [
  ...valveTypes()
    // One whose sheet prints no drop has no law: the supply takes one for it, and says so.
    .filter((facts) => facts.kind === "rectifier" && facts.drop.length > 0)
    .map((facts) => [facts.type, rectifierLaw(facts.type)!] as const),
  ["1N4007", semiconductorLaw("1N4007")],
  ["UF4007", semiconductorLaw("UF4007")],
  ["1N5408", semiconductorLaw("1N5408")],
  ["a diode not named", semiconductorLaw()],
  ["a chip of 10 A not named", semiconductorLaw(undefined, 10)],
  ["12 V zener", zenerLaw(12, 10)],
  ["zener without slope", zenerLaw(75, 0)],
];

describe.each(diodes)("diode law of %s", (_, law) => {
  test("is finite, rising, and its slope is its derivative", () => {
    fc.assert(
      fc.property(volts(2000), (v) => {
        const out = new Float64Array(2);
        law.evaluate(v, out);
        expect(Number.isFinite(out[0]) && Number.isFinite(out[1])).toBe(true);
        expect(out[1]).toBeGreaterThanOrEqual(0);
        const slope = out[1];
        const h = 1e-6;
        law.evaluate(v + h, out);
        const up = out[0];
        law.evaluate(v - h, out);
        expect(Math.abs((up - out[0]) / (2 * h) - slope)).toBeLessThan(
          1e-3 * slope + 1e-5 * (1 + Math.abs(up)),
        );
      }),
      { numRuns: 400, seed: 4 },
    );
  });
});

describe("published figures that a law goes through exactly", () => {
  test("a rectifier's drop (the sheets; k and the other drops worked out by the three-halves law)", () => {
    const out = new Float64Array(2);
    const drops: [string, number, number][] = [
      ["5U4GB", 44, 0.225], // sheet
      ["5U4GB", 27.718, 0.1125],
      ["5U4GB", 69.846, 0.45],
      ["5U4G", 58, 0.225], // tube catalogue, 5Z3
      ["5Y3GT", 60, 0.125],
      ["GZ34", 17, 0.225],
      ["5V4GA", 25, 0.175],
      ["6X4", 22, 0.07],
    ];
    for (const [type, dropped, amps] of drops) {
      rectifierLaw(type)!.evaluate(dropped, out);
      expect(out[0] / amps, type).toBeCloseTo(1, 3);
      rectifierLaw(type)!.evaluate(-300, out);
      expect(out[0], type).toBeLessThan(1e-12);
    }
  });
  test("a silicon rectifier's forward drop (Yangjie, Vishay, Rectron sheets)", () => {
    const out = new Float64Array(2);
    for (const [type, v, amps] of [
      ["1N4007", 1.0, 1],
      ["UF4007", 1.7, 1],
      ["1N5408", 1.0, 3],
    ] as const) {
      semiconductorLaw(type).evaluate(v, out);
      expect(out[0] / amps, type).toBeCloseTo(1, 6);
    }
  });
  test("a zener diode at its volts, and down its slope", () => {
    const out = new Float64Array(2);
    const law = zenerLaw(12, 10);
    law.evaluate(-12, out);
    expect(out[0]).toBeCloseTo(-0.005, 6);
    law.evaluate(-13, out);
    expect(-1 / out[1]).toBeCloseTo(-10, 2);
    law.evaluate(-6, out);
    expect(Math.abs(out[0])).toBeLessThan(1e-6);
  });
  test("Wright omega against its definition, and its tabled value at 1 and 0", () => {
    expect(wrightOmega(1)).toBeCloseTo(1, 13);
    expect(wrightOmega(0)).toBeCloseTo(0.5671432904097838, 13); // the omega constant
    for (let y = -700; y < 3000; y += 0.37) {
      const w = wrightOmega(y);
      expect(Math.abs(w + Math.log(w) - y)).toBeLessThan(1e-11 * (1 + Math.abs(y)));
    }
  });
});

describe("a semiconductor without a type", () => {
  const at = (law: ReturnType<typeof semiconductorLaw>, volts: number) => {
    const out = new Float64Array(2);
    law.evaluate(volts, out);
    return out[0];
  };
  // 1N4001 to 1N4007: 1.0 V at 1 A; 1N5400 to 1N5408: 1.0 V at 3 A (makers' sheets).
  test("drops the printed volts at the current that it is rated for", () => {
    expect(at(semiconductorLaw(undefined, 1), 1.0)).toBeCloseTo(1, 6);
    expect(at(semiconductorLaw(undefined, 3), 1.0)).toBeCloseTo(3, 6);
    expect(at(semiconductorLaw(), 1.0)).toBeCloseTo(1, 6);
  });
  test("does not heed a current that is written beside a known type", () => {
    expect(at(semiconductorLaw("1N4007", 3), 0.9)).toBe(at(semiconductorLaw("1N4007"), 0.9));
  });
});
