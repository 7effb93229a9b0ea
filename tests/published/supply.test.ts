/** Supplies against published figures and closed forms; the cases and their sources stand in `supply-cases.json`. */
import { describe, expect, test } from "vitest";
import { supplyChecks } from "./checks/supply.ts";

const byCase = new Map<string, (typeof supplyChecks)[number][]>();
for (const check of supplyChecks) {
  const id = check.name.split(" ")[0];
  byCase.set(id, [...(byCase.get(id) ?? []), check]);
}

describe("power supplies against published figures", () => {
  test("there are some hundreds of them", () => {
    expect(supplyChecks.length).toBeGreaterThan(400);
  });
  for (const [id, checks] of byCase) {
    test(`${id} (${checks[0].source.slice(0, 80)})`, () => {
      for (const check of checks) {
        const got = check.got();
        const error = Math.abs(got / check.expected - 1);
        expect(error, `${check.name}: ${got} against ${check.expected}`).toBeLessThanOrEqual(check.within);
      }
    });
  }
});
