/** Heaters lifted too high: the divider that lifts them is named, or the leg of it that is missing. */
import { describe, expect, it } from "vitest";
import { check } from "../../../server/check.ts";

/** A 12AT7 stands 90 V between heater and cathode (design centre, Philips' ECC81 sheet, from memory). */
const lifted = (holding: string) => `amp "Lifted"
source B1 300V { plus: HT, minus: gnd }
transformer T1 20VA {
  primary 230V 60R { a b }
  lt 6.3V 1A 0.2R { h1 h2 }
}
${holding}
HT -- resistor R1 100k 1W 500V -- p1
valve V1 12AT7 { a { plate: p1, grid: g1, cathode: k1 }, heater: h1 h2 }
g1 -- resistor R2 1M 0.5W -- gnd
k1 -- resistor R3 1k5 0.5W -- gnd
`;
const told = (holding: string) =>
  check("lifted.ampnet", lifted(holding)).findings.find(({ rule }) => rule === "valve/heater-cathode")
    ?.message;
const hum = "h1 -- resistor R8 100R 0.5W -- lift\nh2 -- resistor R9 100R 0.5W -- lift\n";

describe("heaters lifted too high", () => {
  it("for want of the divider's lower resistor: it is named as missing, through what balances the hum", () => {
    const missing = told(`${hum}HT -- resistor R5 330k 1W 500V -- lift`);
    expect(missing).toContain("R5 lifts them to all of HT, as nothing leads from");
    expect(missing).toContain("to common: a divider's lower resistor is missing there");
    const pot = told(
      "pot RV1 100R 0.5W { top: h1, wiper: lift, bottom: h2 }\nHT -- resistor R5 330k 1W 500V -- lift",
    );
    expect(pot).toContain("R5 lifts them to all of HT");
  });

  it("by a divider of wrong size: both its resistors are named", () => {
    // 300 V over 330k and 330k: 150 V.
    expect(told(`${hum}HT -- resistor R5 330k 1W 500V -- lift -- resistor R6 330k 1W 500V -- gnd`)).toContain(
      "Lower what R5 and R6 lift the heaters to.",
    );
  });

  it("by no resistor at all: nothing is named", () => {
    expect(told(`${hum}HT -- wire -- lift`)).toContain("Lower what the heaters are lifted to.");
  });

  it("within the limit is quiet", () => {
    // 300 V over 330k and 47k: 37 V.
    expect(
      told(`${hum}HT -- resistor R5 330k 1W 500V -- lift -- resistor R6 47k 0.5W -- gnd`),
    ).toBeUndefined();
  });
});
