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

/** A supply of some 300 V, its primary behind a switch; `high` joins HT0 to HT1. */
const onMains = (name: string, high: string): string => `amp "Two poles"
mains 230 V 50 Hz
transformer T1 80VA {
  primary 230V 14R { live n }
  ht 230V 200mA 40R { a c }
}
bridge D1 1000V 1A { ac1: a, ac2: c, plus: HT0, minus: gnd }
HT0 -- capacitor C1 47u 450V electrolytic -- gnd
HT0 -- resistor R2 100k 5W 500V -- gnd
${high}
HT1 -- resistor R1 10k 30W wirewound 900V -- gnd
${name.includes("{") ? `switch S1 ${name}` : `l -- switch S1 ${name} -- live`}
`;

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
    expect(told(onMains("mains 250V 6A", "HT0 -- wire -- HT1"))).toEqual([]);
    expect(told(text("quiet", "dc 5V").replace("300V", "20V"))).toEqual([]);
  });

  it("looks at where a switch stands, whatever it is called", () => {
    expect(told(text("mains", "dc 100V")).map(({ severity }) => severity)).toEqual(["error"]);
    const [one, ...others] = told(onMains("mains 250V 6A", "HT0 -- switch S2 mains 250V 6A -- HT1"));
    expect(others).toEqual([]);
    expect(one.on).toEqual(["S2"]);
    // The crest of 230 V and a tenth more, less what the winding drops.
    expect(one.value).toBeGreaterThan(320);
    expect(one.value).toBeLessThan(230 * 1.1 * Math.SQRT2 * 1.1);
  });

  it("holds the pole in the high tension of one that breaks the mains as well", () => {
    const both = (dc: string) =>
      told(onMains(`mains dpst 250V 6A ${dc} { 1 { common: l, on: live }  2 { common: HT0, on: HT1 } }`, ""));
    expect(both("dc 400V")).toEqual([]);
    expect(both("dc 200V").map(({ severity }) => severity)).toEqual(["error"]);
    expect(both("").map(({ severity }) => severity)).toEqual(["warning"]);
  });
});
