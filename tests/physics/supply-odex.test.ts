/** Every topology against an independent integration; the circuits stand in `tests/published/checks/integrated.ts`. */
import { describe, expect, test } from "vitest";
import { semiconductorLaw } from "../../server/physics/laws/index.ts";
import { integratedCircuits } from "../published/checks/integrated.ts";
import { siliconVolts } from "./supply-odes.ts";

test("the diode law turned round is the program's diode law", () => {
  const silicon = semiconductorLaw();
  const out = new Float64Array(2);
  for (const amps of [1e-4, 1e-3, 0.05, 1, 3]) {
    silicon.evaluate(siliconVolts(amps), out);
    expect(out[0] / amps).toBeCloseTo(1, 6);
  }
});

describe("against an independent integration (odex)", () => {
  for (const { name, checks } of integratedCircuits) {
    test(name, () => {
      const list = checks();
      expect(list.length).toBeGreaterThan(3);
      for (const check of list) {
        const error = check.got() / check.expected - 1;
        expect(Math.abs(error), `${check.name}: ${check.got()} against ${check.expected}`).toBeLessThan(
          check.within,
        );
      }
    });
  }
});
