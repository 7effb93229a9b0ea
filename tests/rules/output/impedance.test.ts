import { describe, expect, it } from "vitest";
import { check } from "../../../server/check.ts";

const text = (plates: string) => `amp "Plates"
source B1 250V { plus: HT, minus: gnd }
HT -- resistor R1 470R 1W -- s1
valve V1 EL84 { plate: pA, screen: s1, grid: g1, cathode: k1 }
g1 -- resistor R3 470k 0.5W -- gnd
k1 -- resistor R5 150R 2W wirewound -- gnd
output-transformer T1 12W {
  plates  ${plates} { pA HT }
  speaker 8R 0.5R { spk gnd }
}
spk -- speaker LS1 8R 15W -- gnd
`;
const rules = (plates: string) => check("plates.ampnet", text(plates)).findings;

describe("the impedance of an output transformer's plates", () => {
  it.each(["5k 60mA 260R", "60mA 260R 5k", "5k 60mA"])("is read from %s", (plates) => {
    const found = rules(plates).map(({ rule }) => rule);
    expect(found).not.toContain("circuit/unit");
    expect(found).toContain("output/power");
  });

  it.each(["5R 60mA 260R", "60mA 260R", "5n 60mA 260R"])(
    "is refused in %s, and nothing is driven into it",
    (plates) => {
      const findings = rules(plates);
      expect(findings.filter(({ rule }) => rule === "circuit/unit")).toHaveLength(1);
      expect(findings.filter(({ state }) => state === "drive")).toEqual([]);
      expect(findings.filter(({ severity, on }) => severity === "unchecked" && on[0] === "T1")).toHaveLength(
        1,
      );
    },
  );
});
