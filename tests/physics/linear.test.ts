import fc from "fast-check";
import { lusolve } from "mathjs";
import { describe, expect, it } from "vitest";
import { ComplexSparseLu } from "../../server/physics/linear/complex-lu.ts";
import { minimumDegree, pairRows } from "../../server/physics/linear/ordering.ts";
import { buildPattern } from "../../server/physics/linear/pattern.ts";
import { multiply, SparseLu } from "../../server/physics/linear/sparse-lu.ts";
import { randomNetwork, seeded } from "./networks.ts";

/** mathjs, a general-purpose library, knows nothing of sparsity or of us. */
function reference(
  size: number,
  rows: number[],
  columns: number[],
  values: number[],
  right: number[],
): number[] {
  const dense = Array.from({ length: size }, () => new Array<number>(size).fill(0));
  rows.forEach((row, k) => {
    dense[row][columns[k]] += values[k];
  });
  return (lusolve(dense, right) as number[][]).map((row) => row[0]);
}

function worst(x: ArrayLike<number>, y: ArrayLike<number>): number {
  let scale = 0;
  let error = 0;
  for (let i = 0; i < x.length; i++) {
    scale = Math.max(scale, Math.abs(y[i]));
    error = Math.max(error, Math.abs(x[i] - y[i]));
  }
  return error / (scale || 1);
}

describe("sparse LU against mathjs lusolve", () => {
  it("agrees to 1e-9 relative on 1,000 random circuits, straight, transposed and refactored", () => {
    const random = seeded(7);
    for (let run = 0; run < 1000; run++) {
      const { size, rows, columns, values } = randomNetwork(random, 3 + Math.floor(random() * 40));
      const { pattern, entry } = buildPattern(size, rows, columns);
      const fill = (scale: (k: number) => number): Float64Array => {
        const out = new Float64Array(pattern.rows.length);
        values.forEach((value, k) => {
          out[entry[k]] += value * scale(k);
        });
        return out;
      };
      const lu = new SparseLu(pattern);
      const right = Float64Array.from({ length: size }, () => random() - 0.5);
      const x = new Float64Array(size);
      expect(lu.factor(fill(() => 1))).toBe(true);
      lu.solve(right, x);
      expect(worst(x, reference(size, rows, columns, values, [...right]))).toBeLessThan(1e-9);
      lu.solveTransposed(right, x);
      expect(worst(x, reference(size, columns, rows, values, [...right]))).toBeLessThan(1e-9);
      // New numbers in the same pattern.
      const scales = values.map((value) => (Math.abs(value) === 1 ? 1 : 0.1 + random() * 5));
      expect(lu.factor(fill((k) => scales[k]))).toBe(true);
      lu.solve(right, x);
      const scaled = values.map((value, k) => value * scales[k]);
      expect(worst(x, reference(size, rows, columns, scaled, [...right]))).toBeLessThan(1e-9);
    }
  }, 60_000);

  it("chooses new pivots when new numbers spoil the old ones", () => {
    const { pattern, entry } = buildPattern(2, [0, 1, 0, 1], [0, 0, 1, 1]);
    const lu = new SparseLu(pattern);
    const load = (a: number, b: number, c: number, d: number): Float64Array => {
      const out = new Float64Array(4);
      [a, b, c, d].forEach((value, k) => {
        out[entry[k]] = value;
      });
      return out;
    };
    expect(lu.factor(load(1, 1, 1, 2))).toBe(true);
    expect(lu.factor(load(0, 1, 1, 0))).toBe(true);
    const x = new Float64Array(2);
    lu.solve(Float64Array.of(3, 4), x);
    expect([...x]).toEqual([4, 3]);
    lu.solveTransposed(Float64Array.of(3, 4), x);
    expect([...x]).toEqual([4, 3]);
    expect(lu.factor(load(1, 2, 2, 4))).toBe(false);
    expect(lu.singularAt).toBeGreaterThanOrEqual(0);
    expect(lu.factor(load(1e-30, 1, 1, 1))).toBe(true);
    lu.solve(Float64Array.of(1, 2), x);
    expect(x[0]).toBeCloseTo(1, 12);
    expect(x[1]).toBeCloseTo(1, 12);
  });

  it("solves the general case: any sparse matrix with a transversal", () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 25 }), fc.integer(), (size, seed) => {
        const random = seeded(seed);
        const rows: number[] = [];
        const columns: number[] = [];
        const values: number[] = [];
        const shuffled = Array.from({ length: size }, (_, i) => i).sort(() => random() - 0.5);
        for (let c = 0; c < size; c++) {
          rows.push(shuffled[c]);
          columns.push(c);
          values.push(size + random());
          for (let e = 0; e < 2; e++) {
            rows.push(Math.floor(random() * size));
            columns.push(c);
            values.push(random() - 0.5);
          }
        }
        const { pattern, entry } = buildPattern(size, rows, columns);
        expect([...pairRows(pattern)].sort((a, b) => a - b)).toEqual(
          Array.from({ length: size }, (_, i) => i),
        );
        const order = [...minimumDegree(pattern, pairRows(pattern))];
        expect(order.slice().sort((a, b) => a - b)).toEqual(Array.from({ length: size }, (_, i) => i));
        const all = new Float64Array(pattern.rows.length);
        values.forEach((value, k) => {
          all[entry[k]] += value;
        });
        const lu = new SparseLu(pattern);
        expect(lu.factor(all)).toBe(true);
        const right = Float64Array.from({ length: size }, () => random());
        const x = new Float64Array(size);
        const back = new Float64Array(size);
        lu.solve(right, x);
        multiply(pattern, all, x, back);
        expect(worst(back, right)).toBeLessThan(1e-10);
        expect(worst(x, reference(size, rows, columns, values, [...right]))).toBeLessThan(1e-9);
      }),
      { numRuns: 300, seed: 11 },
    );
  });

  it("keeps the fill of a tree at nothing, and of a large amplifier-like network near it", () => {
    // A tree: leaves on branches on a rail.
    const rows: number[] = [];
    const columns: number[] = [];
    const size = 2000;
    for (let i = 0; i < size; i++) {
      rows.push(i);
      columns.push(i);
      if (i > 0) {
        const parent = Math.floor((i - 1) / 3);
        rows.push(i, parent);
        columns.push(parent, i);
      }
    }
    const { pattern, entry } = buildPattern(size, rows, columns);
    const values = new Float64Array(pattern.rows.length);
    rows.forEach((row, k) => {
      values[entry[k]] = row === columns[k] ? 10 : -1;
    });
    const lu = new SparseLu(pattern);
    lu.factor(values);
    expect(lu.fill).toBe(pattern.rows.length);

    const big = randomNetwork(seeded(3), 10_000);
    const built = buildPattern(big.size, big.rows, big.columns);
    const all = new Float64Array(built.pattern.rows.length);
    big.values.forEach((value, k) => {
      all[built.entry[k]] += value;
    });
    const large = new SparseLu(built.pattern);
    expect(large.factor(all)).toBe(true);
    expect(large.fill).toBeLessThan(1.6 * built.pattern.rows.length);
  });
});

describe("complex systems", () => {
  it("agree with mathjs on random admittance matrices", async () => {
    const { complex, lusolve: solve } = await import("mathjs");
    const random = seeded(5);
    for (let run = 0; run < 50; run++) {
      const { size, rows, columns, values } = randomNetwork(random, 3 + Math.floor(random() * 15));
      const { pattern, entry } = buildPattern(size, rows, columns);
      const re = new Float64Array(pattern.rows.length);
      const im = new Float64Array(pattern.rows.length);
      values.forEach((value, k) => {
        re[entry[k]] += value;
        if (rows[k] === columns[k]) im[entry[k]] += value * random();
      });
      const lu = new ComplexSparseLu(pattern);
      expect(lu.factor(re, im)).toBe(true);
      const bRe = Float64Array.from({ length: size }, () => random());
      const bIm = Float64Array.from({ length: size }, () => random());
      const xRe = new Float64Array(size);
      const xIm = new Float64Array(size);
      lu.solve(bRe, bIm, xRe, xIm);
      const dense = Array.from({ length: size }, () => Array.from({ length: size }, () => complex(0, 0)));
      for (let c = 0; c < size; c++) {
        for (let p = pattern.columnStart[c]; p < pattern.columnStart[c + 1]; p++) {
          dense[pattern.rows[p]][c] = complex(re[p], im[p]);
        }
      }
      const right = Array.from({ length: size }, (_, i) => complex(bRe[i], bIm[i]));
      const expected = (
        solve(dense as never, right as never) as unknown as { re: number; im: number }[][]
      ).map((row) => row[0]);
      expect(
        worst(
          xRe,
          expected.map((z) => z.re),
        ),
      ).toBeLessThan(1e-9);
      expect(
        worst(
          xIm,
          expected.map((z) => z.im),
        ),
      ).toBeLessThan(1e-9);
    }
  });
});
