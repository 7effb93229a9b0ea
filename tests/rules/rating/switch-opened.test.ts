/** A switch of a name of its own, closed in every state: what it breaks is found with it open. */
import { describe, expect, it } from "vitest";
import { check } from "../../../server/check.ts";

/** 300 V over a bleeder of 100 kΩ ahead of the switch; behind it nothing holds the volts once it is open. */
const text = (
  name: string,
  rating: string,
  behind = "HT1 -- resistor R1 47k 10W 500V -- gnd",
) => `amp "A switch in the HT"
source B1 300V { plus: HT0, minus: gnd }
HT0 -- resistor R2 100k 5W 500V -- gnd
HT0 -- switch S1 ${name} ${rating} -- HT1
${behind}
`;
const told = (netlist: string) =>
  check("switch.ampnet", netlist).findings.filter(
    ({ rule, severity }) => rule === "rating/switch-dc" && severity !== "unchecked",
  );

describe("a switch of a name of its own in the high tension", () => {
  it.each([
    ["dc 301V", []],
    ["dc 299V", ["error"]],
    ["250V", ["warning"]],
  ])("rated %s", (rating, severities) => {
    expect(told(text("quiet", rating)).map(({ severity }) => severity)).toEqual(severities);
  });

  it("says that it is opened, and breaks what a standby switch would", () => {
    const [own] = told(text("quiet", "dc 100V"));
    const [standby] = told(text("standby", "dc 100V"));
    expect(own.message).toMatch(/^S1 breaks 300 V when it is opened at high mains; rated, dc, 100 V/);
    expect(own.value).toBeCloseTo(standby.value ?? Number.NaN, 6);
  });

  it("counts what is left across it, where something holds the far side up", () => {
    // By hand: 300 V over 100 kΩ and 200 kΩ leaves a third of it across the open contact.
    const beside = "HT0 -- resistor R3 100k 5W 500V -- HT1\nHT1 -- resistor R4 200k 5W 500V -- gnd";
    expect(told(text("quiet", "dc 101V", beside))).toEqual([]);
    expect(told(text("quiet", "dc 99V", beside))[0].value).toBeCloseTo(100, 3);
  });

  it("opens one at a time, and leaves a mains switch and what stands below 30 V alone", () => {
    const two = text(
      "quiet",
      "dc 100V",
      "HT1 -- switch S2 deep dc 400V -- HT2\nHT2 -- resistor R1 47k 10W 500V -- gnd",
    );
    expect(told(two).map(({ on }) => on[0])).toEqual(["S1"]);
    expect(told(text("mains", "dc 100V"))).toEqual([]);
    expect(told(text("quiet", "dc 5V").replace("300V", "20V"))).toEqual([]);
  });
});
