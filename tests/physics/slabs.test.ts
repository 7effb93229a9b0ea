import { describe, expect, test } from "vitest";
import { copyOf, doubles, integers } from "../../server/physics/linear/slabs.ts";

describe("rows cut from slabs", () => {
  test("no two share a place, whatever their lengths, kinds and order", () => {
    const rows = Array.from({ length: 4000 }, (_, k) => {
      const length = (k * 7919) % (k % 50 === 0 ? 3000 : 90);
      return k % 3 === 0 ? integers(length) : doubles(length);
    });
    rows.forEach((row, k) => {
      expect(row.every((value) => value === 0)).toBe(true);
      row.fill(k + 1);
    });
    rows.forEach((row, k) => {
      expect(row.every((value) => value === k + 1)).toBe(true);
    });
  });

  test("a copy stands for itself, whole or in part", () => {
    const values = doubles(40);
    values.forEach((_, k) => {
      values[k] = k;
    });
    const whole = copyOf(values);
    const part = copyOf(values, 5, 25);
    values.fill(-1);
    expect([...whole]).toEqual(Array.from({ length: 40 }, (_, k) => k));
    expect([...part]).toEqual(Array.from({ length: 20 }, (_, k) => k + 5));
  });
});
