/** Eliminations laid out beforehand, against a general library (mathjs lusolve) that knows nothing of them. */
import { complex, lusolve } from "mathjs";
import { describe, expect, it } from "vitest";
import { factorComplex, solveComplex } from "../../server/physics/elimination/complex.ts";
import { planElimination } from "../../server/physics/elimination/plan.ts";
import { factorReal, solveReal } from "../../server/physics/elimination/real.ts";
import { buildPattern } from "../../server/physics/linear/pattern.ts";
import { randomNetwork, seeded } from "./networks.ts";

describe("an elimination laid out beforehand", () => {
  it("solves 300 random circuits, new numbers in the same plan too, to 1e-9 relative", () => {
    const random = seeded(11);
    let solved = 0;
    for (let run = 0; run < 300; run++) {
      const { size, rows, columns, values } = randomNetwork(random, 3 + Math.floor(random() * 30));
      const { pattern, entry } = buildPattern(size, rows, columns);
      const plan = planElimination(pattern)!;
      expect(plan).toBeDefined();
      for (let again = 0; again < 2; again++) {
        const scales = values.map((value) => (again === 0 || Math.abs(value) === 1 ? 1 : 0.1 + random() * 5));
        const a = new Float64Array(plan.entries);
        const dense = Array.from({ length: size }, () => new Array<number>(size).fill(0));
        values.forEach((value, k) => {
          a[entry[k]] += value * scales[k];
          dense[rows[k]][columns[k]] += value * scales[k];
        });
        const right = Array.from({ length: size }, () => random() - 0.5);
        const x = new Float64Array(size);
        // Pivots may vanish: that has to be told, and never be answered.
        if (!factorReal(plan, a)) continue;
        solved++;
        solveReal(plan, a, Float64Array.from(right), x);
        const expected = (lusolve(dense, right) as number[][]).map((row) => row[0]);
        const scale = Math.max(...expected.map(Math.abs));
        expected.forEach((value, i) => {
          expect(Math.abs(x[i] - value)).toBeLessThan(1e-9 * scale);
        });
      }
    }
    expect(solved).toBeGreaterThan(550);
  }, 60_000);

  it("solves phasors of random circuits to 1e-9 relative", () => {
    const random = seeded(12);
    let solved = 0;
    for (let run = 0; run < 60; run++) {
      const { size, rows, columns, values } = randomNetwork(random, 3 + Math.floor(random() * 20));
      const { pattern, entry } = buildPattern(size, rows, columns);
      const plan = planElimination(pattern)!;
      const re = new Float64Array(plan.entries);
      const im = new Float64Array(plan.entries);
      const dense = Array.from({ length: size }, () => Array.from({ length: size }, () => complex(0, 0)));
      values.forEach((value, k) => {
        const reactance = Math.abs(value) === 1 ? 0 : value * (random() - 0.5);
        re[entry[k]] += value;
        im[entry[k]] += reactance;
        const before = dense[rows[k]][columns[k]];
        dense[rows[k]][columns[k]] = complex(before.re + value, before.im + reactance);
      });
      const bRe = Float64Array.from({ length: size }, () => random() - 0.5);
      const bIm = Float64Array.from({ length: size }, () => random() - 0.5);
      const right = Array.from(bRe, (value, i) => complex(value, bIm[i]));
      const xRe = new Float64Array(size);
      const xIm = new Float64Array(size);
      if (!factorComplex(plan, re, im)) continue;
      solved++;
      solveComplex(plan, re, im, bRe, bIm, xRe, xIm);
      const expected = lusolve(dense as never, right as never) as unknown as { re: number; im: number }[][];
      const scale = Math.max(...expected.map(([value]) => Math.hypot(value.re, value.im)));
      expected.forEach(([value], i) => {
        expect(Math.hypot(xRe[i] - value.re, xIm[i] - value.im)).toBeLessThan(1e-9 * scale);
      });
    }
    expect(solved).toBeGreaterThan(55);
  }, 60_000);

  it("tells a vanished pivot and a pattern that is singular", () => {
    const full = buildPattern(2, [0, 1, 0, 1], [0, 0, 1, 1]);
    const plan = planElimination(full.pattern)!;
    expect(factorReal(plan, Float64Array.of(0, 1, 1, 0))).toBe(false);
    expect(factorReal(plan, Float64Array.of(1, 2, 2, 4))).toBe(false);
    expect(factorComplex(plan, Float64Array.of(0, 1, 1, 0), new Float64Array(4))).toBe(false);
    expect(planElimination(buildPattern(2, [0, 0], [0, 1]).pattern)).toBeUndefined();
  });
});
