/** The leads of a push-pull winding: which of them a plate, a supply, a screen stands on. */
import { describe, expect, it } from "vitest";
import { check } from "../../../server/check.ts";
import { told } from "../limits.ts";

const RULE = "output/winding-ends";

const stage = (plates: string, [plateA, plateB]: readonly string[], [screenA, screenB] = ["sA", "sB"]) => `
source B1 300V { plus: HT, minus: gnd }
HT -- choke L1 1H 200mA 50R -- HTp
HTp -- capacitor C1 47u 450V electrolytic -- gnd
HT -- resistor R4 220R 2W -- sA
HT -- resistor R5 220R 2W -- sB
valve V1 EL84 { plate: ${plateA}, screen: ${screenA}, grid: g1, cathode: k }
valve V2 EL84 { plate: ${plateB}, screen: ${screenB}, grid: g2, cathode: k }
g1 -- resistor R1 470k 0.5W -- gnd
g2 -- resistor R2 470k 0.5W -- gnd
k -- resistor R3 270R 5W wirewound -- gnd
valve V3 ECC83 { a { plate: HTp, grid: g3, cathode: k3 } }
g3 -- resistor R6 1M 0.5W -- gnd
k3 -- resistor R7 100k 1W -- gnd
output-transformer T1 20W {
  plates  ${plates}
  speaker 8R 0.5R { spk gnd }
}
spk -- speaker LS1 8R 30W -- gnd
`;

describe(RULE, () => {
  it.each([
    [
      "as it should be, a follower's plate on the supply",
      stage("8k 280R { pA HTp pB }", ["pA", "pB"]),
      undefined,
    ],
    ["the middle and an end exchanged", stage("8k 280R { pA pB HTp }", ["pA", "pB"]), "error"],
    ["the middle and the other end exchanged", stage("8k 280R { HTp pA pB }", ["pA", "pB"]), "error"],
    ["both plates on one end", stage("8k 280R { pA HTp pB }", ["pA", "pA"]), "warning"],
    ["ultralinear", stage("8k 43% 280R { pA uA HTp uB pB }", ["pA", "pB"], ["uA", "uB"]), undefined],
    [
      "ultralinear with the screens crossed",
      stage("8k 43% 280R { pA uA HTp uB pB }", ["pA", "pB"], ["uB", "uA"]),
      "error",
    ],
    [
      "ultralinear with its taps left alone",
      stage("8k 43% 280R { pA uA HTp uB pB }", ["pA", "pB"]),
      undefined,
    ],
  ])("%s", (_, text, severity) => {
    const found = told(text, RULE, "T1");
    expect(found.map((finding) => finding.severity)).toEqual(severity ? [severity] : []);
  });

  it("leaves a winding of four leads, which has no middle, to what is told of its leads", () => {
    const rules = check("a.ampnet", stage("8k 280R { pA HTp uB pB }", ["pA", "pB"])).findings.map(
      ({ rule }) => rule,
    );
    expect(rules).toContain("circuit/winding-nets");
    expect(rules).not.toContain("circuit/rule-failed");
    expect(rules).not.toContain(RULE);
  });
});
