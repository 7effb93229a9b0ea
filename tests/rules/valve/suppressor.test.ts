/** Where a suppressor may stand: the volts come from a divider, by Ohm's law. */
import { describe, expect, it } from "vitest";
import { ruleById } from "../../../server/rules/index.ts";
import { errorOn, holdsAt, missed, told } from "../limits.ts";

const RULE = "valve/suppressor";
const bad = ruleById.get(RULE)?.bad ?? "";
const wired = (net: string, more = "") => bad.replace("suppressor: s1", `suppressor: ${net}`) + more;

describe("a suppressor", () => {
  it("is told on the screen, on the plate and on a supply, by name", () => {
    expect(errorOn(bad, RULE, "V1")?.message).toMatch(
      /^V1's suppressor is tied on its screen, 2\d\d V above its cathode at idle/,
    );
    expect(errorOn(wired("pA"), RULE, "V1")?.message).toContain("tied on its plate");
    expect(errorOn(wired("HT"), RULE, "V1")?.message).toContain("tied on HT");
  });
  it("is passed at the cathode, at common, unwritten, and on a valve strapped as a triode", () => {
    for (const net of ["k1", "gnd"]) expect(told(wired(net), RULE, "V1")).toEqual([]);
    expect(told(bad.replace(", suppressor: s1", ""), RULE, "V1")).toEqual([]);
    const triode = wired("pA").replace("HT -- resistor R4 1k", "pA -- resistor R4 100R");
    expect(told(triode, RULE, "V1")).toEqual([]);
  });
  it("is held at its volts where a source holds it", () => {
    // The cathode at common, and the grid far below it: the suppressor's volts are the source's.
    holdsAt({
      rule: RULE,
      on: "V1",
      limit: 60,
      text: (volts) =>
        wired("sup", `source B2 ${volts}V { plus: su0, minus: gnd }\nsu0 -- resistor R8 1R 1W 0% -- sup\n`)
          .replace("k1 -- resistor R3 270R 7W wirewound -- gnd", "k1 -- wire -- gnd")
          .replace(
            "g1 -- resistor R1 470k 0.5W -- gnd",
            "source B3 30V { plus: gnd, minus: gs }\ng1 -- resistor R1 470k 0.5W -- gs",
          ),
    });
  });
  it("is unchecked where nothing fixes its volts", () => {
    const open = wired("sup", "sup -- capacitor C9 100n 400V film -- gnd\n");
    expect(told(open, RULE, "V1").filter(({ severity }) => severity !== "unchecked")).toEqual([]);
    expect(missed(open, "V1")).toMatch(/suppressor/);
  });
});
