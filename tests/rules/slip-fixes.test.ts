/** A word put right brings a valve to life; that its stage then delivers something is no reason to withhold the fix. */
import { describe, expect, it } from "vitest";
import { check } from "../../server/check.ts";

const text = `amp "Slip"
source B1 250V { plus: HT, minus: gnd }
g2 -- resistor R4 470k 0.5W -- gnd
g2 -- resistor R7 2k2 0.5W -- g3
k2 -- resistor R5 180R 5W wirewound -- gnd
valve V2 EL84 { plate: p2, screen: s2, grid: g3, cathode: k2 }
HT -- resistor R6 220R 2W -- s2
output-transformer T2 8W {
  plates 5k 60mA 300R { p2 HT }
  speaker 8R 0.5R { gnd spk }
}
spk -- speaker LS1 8R 10W -- gnd
`;
const fixOf = (netlist: string, rule: string) =>
  check("slip.ampnet", netlist).findings.find((finding) => finding.rule === rule)?.fix;

describe("the fix of a slip", () => {
  it.each([
    ["valve V2 EL84", "valve V2 EL48", "circuit/unknown-type", "EL84"],
    ["plate: p2", "plat: p2", "circuit/unknown-terminal", "plate"],
    ["screen: s2", "scren: s2", "circuit/unknown-terminal", "screen"],
  ])("of %s written %s is offered", (right, wrong, rule, word) => {
    expect(text).toContain(right);
    const fix = fixOf(text.replace(right, wrong), rule);
    expect(fix?.edits.map((edit) => edit.text)).toEqual([word]);
  });

  it("is withheld where what it brings to light is a fault", () => {
    // With 18 ohms in its cathode the valve that the word names would burn.
    expect(
      fixOf(text.replace("R5 180R", "R5 18R").replace("plate: p2", "plat: p2"), "circuit/unknown-terminal"),
    ).toBeUndefined();
  });
});
