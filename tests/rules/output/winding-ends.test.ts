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

describe(`${RULE}: a single-ended winding`, () => {
  const single = (winding: string, plate = "pA", screen = "s1"): string => `
source B1 250V { plus: B, minus: gnd }
B -- choke L1 5H 100mA 100R -- HT
HT -- capacitor C1 47u 450V electrolytic -- gnd
HT -- resistor R4 470R 1W -- s1
valve V1 EL84 { plate: ${plate}, screen: ${screen}, grid: g1, cathode: k1 }
g1 -- resistor R1 470k 0.5W -- gnd
k1 -- resistor R3 220R 5W wirewound -- gnd
output-transformer T1 8W {
  plates  5k 60mA 250R { ${winding} }
  speaker 8R 0.5R { spk gnd }
}
spk -- speaker LS1 8R 15W -- gnd
`;

  it("written from its supply is told as that, with the words the right way round, and not as plate and screen exchanged", () => {
    const [found, ...others] = told(single("HT pA"), RULE, "T1");
    expect(others).toEqual([]);
    expect(found.severity).toBe("warning");
    expect(found.message).toContain("{ pA HT }");
    expect(told(single("HT pA"), "valve/plate-screen-exchanged", "V1")).toEqual([]);
  });

  it("the right way round is not told, and an exchange at the socket is told as one", () => {
    expect(told(single("pA HT"), RULE, "T1")).toEqual([]);
    expect(told(single("pA HT", "HT", "pA"), RULE, "T1")).toEqual([]);
    expect(told(single("pA HT", "HT", "pA"), "valve/plate-screen-exchanged", "V1")).toHaveLength(1);
  });
});
