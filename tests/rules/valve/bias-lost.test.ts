/** Bias that is there and does not come through: Ohm's law over the chain says which resistor keeps it. */
import { describe, expect, it } from "vitest";
import { check } from "../../../server/check.ts";

const stage = (dropper: string, lower: string) => `amp "Bias through a dropper"
source B1 400V { plus: HT, minus: gnd }
source B2 75V { plus: gnd, minus: nB }
nB -- resistor R1 ${dropper} 1W 500V -- top
pot RV1 25k lin 0.5W { top: top, wiper: w, bottom: low }
low -- resistor R2 ${lower} 0.5W -- gnd
w -- resistor R3 100k 0.5W -- gA
w -- resistor R4 100k 0.5W -- gB
HT -- resistor R5 1k 5W wirewound -- sA
HT -- resistor R6 1k 5W wirewound -- sB
valve V1 EL34 { plate: pA, screen: sA, grid: gA, cathode: gnd, suppressor: gnd }
valve V2 EL34 { plate: pB, screen: sB, grid: gB, cathode: gnd, suppressor: gnd }
output-transformer T1 60W {
  plates 3k4 80R { pA HT pB }
  speaker 8R 0.4R { spk gnd }
}
spk -- speaker LS1 8R 80W -- gnd
`;
const told = (dropper: string, lower = "22k") =>
  check("bias.ampnet", stage(dropper, lower)).findings.find(({ rule }) => rule === "valve/plate-dissipation");

describe("a plate too hot whatever the bias pot's setting", () => {
  it("for a dropper of another decade names it, and what it takes of the supply", () => {
    const found = told("1M");
    // 75 V over 1M, 25k and 22k: 75 * 1000 / 1047 = 71.6 V.
    expect(found?.message).toMatch(
      /The bias supply has -75 V, of which R1 of 1 MΩ takes 71\.6 V: look at its decade/,
    );
  });

  it("for a divider whose lower part takes most asks for a supply of more volts", () => {
    // 75 V over 56k, 25k and 1k: 51 V stay in R1, two thirds, and the cold end has 24 V.
    const found = told("56k", "1k");
    expect(found?.message).toContain("More negative volts from the bias supply");
    expect(found?.message).not.toContain("decade");
  });

  it("with a sound divider is not told at all", () => {
    expect(told("18k", "47k")?.severity).not.toBe("error");
  });
});
