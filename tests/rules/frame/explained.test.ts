/** How far a valve that is too hot explains what else is over. */
import { describe, expect, it } from "vitest";
import type { Finding } from "../../../server/rules/rule.ts";
import { explainedBy } from "../../../server/rules/shared/explained.ts";
import { told } from "../limits.ts";

const over = (share: number, severity: Finding["severity"] = "error") =>
  ({ severity, value: share * 10, limit: 10 }) as Finding;

describe("what a current too many explains", () => {
  it.each([
    [1, 1.3, 1.3, true],
    [1, 1.3, 1.31, false],
    [2, 1.3, 1.69, true],
    [2, 1.3, 1.7, false],
  ] as const)("to the power of %d, %d over its limit: %d", (power, leader, follower, explained) => {
    expect(explainedBy(power)(over(leader), over(follower))).toBe(explained);
  });

  it("is nothing where the leader is within its limit, or either has no figures", () => {
    expect(explainedBy(2)(over(1.3, "warning"), over(1.1))).toBe(false);
    expect(explainedBy(2)({ severity: "error" } as Finding, over(1.1))).toBe(false);
  });

  const hot = (watts: string) => `source B1 300V { plus: HT, minus: gnd }
HT -- resistor R20 330R ${watts} wirewound -- HT2
valve V1 EL84 { plate: pO, screen: HT2, grid: g1, cathode: k1 }
g1 -- resistor R3 470k 0.5W -- gnd
k1 -- resistor R4 47R 5W -- gnd
output-transformer T2 8W {
  plates  5k 100mA 250R { pO HT2 }
  speaker 8R 0.4R { spk gnd }
}
spk -- speaker LS1 8R 15W -- gnd
`;

  it("marks a dropper that is over by no more than that, and leaves one alone that is too small for itself", () => {
    const [dissipation] = told(hot("20W"), "valve/plate-dissipation", "V1");
    expect(dissipation.severity).toBe("error");
    const follows = (watts: string) =>
      told(hot(watts), "rating/resistor-power", "R20").map((finding) => [finding.severity, finding.follows]);
    expect(follows("2W")).toEqual([["error", "valve/plate-dissipation"]]);
    expect(follows("0.25W")).toEqual([["error", undefined]]);
  });
});
