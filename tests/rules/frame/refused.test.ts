/** A winding whose volts are missing or refused: the error is told, and what rests on it is unchecked. */
import { describe, expect, it } from "vitest";
import { check } from "../../../server/check.ts";
import { limitName } from "../../../server/rules/frame/limit.ts";

const text = (ht: string, heater = "6.3V 2A", primary = "230V 40R") => `mains 230 V 50 Hz UK
transformer T1 50VA {
  primary ${primary} { live inN }
  ht      ${ht} { a gnd b }
  heater  ${heater} { h1 gnd }
}
a -- diode D1 1N4007 -- HT
b -- diode D2 1N4007 -- HT
HT -- capacitor C1 22u 200V electrolytic -- gnd
HT -- resistor R1 10k 0.5W 200V -- gnd
valve V1 EL84 { heater: h1 gnd }
`;
const of = (netlist: string) => check("refused.ampnet", netlist, { today: "2026-01-15" });
const grave = (netlist: string) =>
  of(netlist)
    .findings.filter(({ severity }) => severity === "error" || severity === "warning")
    .map(({ rule }) => rule);

describe("a winding without volts", () => {
  it.each([
    ["0V 80mA", "circuit/unit"],
    ["80mA", "circuit/missing-value"],
    ["250-250V 80mA", "circuit/unit"],
  ])("%s is told alone, and its supply is unchecked", (ht, rule) => {
    const sound = of(text("250-0-250V 80mA"));
    const result = of(text(ht));
    expect(grave(text(ht))).toEqual([rule]);
    const missed = result.missed.filter(({ on }) => on === "T1.ht").map(({ what }) => what);
    expect(missed).toEqual(expect.arrayContaining(["capacitor voltage of C1", "resistor power of R1"]));
    expect(result.checked).toBeLessThan(sound.checked);
    expect(result.margins.some(({ on }) => on === "C1")).toBe(false);
    // The heaters hang on a winding of their own, that is as written.
    expect(result.margins.some(({ on, rule: of }) => on === "V1" && of === "valve/heater-voltage")).toBe(
      true,
    );
  });

  it("leaves the HT checked where only the heaters' volts are refused", () => {
    const rules = grave(text("250-0-250V 80mA", "0V 2A"));
    expect(rules).toContain("rating/capacitor-voltage");
    expect(rules).not.toContain("valve/heater-voltage");
  });

  it("rests everything on a primary", () => {
    expect(grave(text("250-0-250V 80mA", "6.3V 2A", "0V 40R"))).toEqual(["circuit/unit"]);
  });

  it("changes nothing where every winding has its volts", () => {
    expect(grave(text("250-0-250V 80mA"))).toContain("rating/capacitor-voltage");
    expect(of(text("250-0-250V 80mA")).missed.some(({ on }) => on === "T1.ht")).toBe(false);
  });
});

describe("a winding whose resistance cannot be", () => {
  const sound = of(text("250-0-250V 80mA 200R"));

  it("is told alone where it is the primary's, and everything behind it is unchecked", () => {
    const netlist = text("250-0-250V 80mA 200R", "6.3V 2A", "230V 4k");
    expect(grave(netlist)).toEqual(["supply/winding-resistance"]);
    const result = of(netlist);
    const missed = result.missed.filter(({ on }) => on === "T1.primary").map(({ what }) => what);
    expect(missed).toEqual(
      expect.arrayContaining(["capacitor voltage of C1", "resistor power of R1", "heater voltage of V1"]),
    );
    expect(result.margins.some(({ on }) => on === "C1")).toBe(false);
    // Where its volts are shown, so is that they are none.
    const { estimates } = result.analysis.solution("idle", "nominal") ?? { estimates: [] };
    expect(estimates.some((one) => one.startsWith("T1.primary: its resistance"))).toBe(true);
    // None of what a sound text is held to is lost: it stands among the limits or among the unchecked.
    const held = new Set(result.margins.map(({ on, rule }) => `${limitName(rule)} of ${on}`));
    for (const { on, rule } of sound.margins) {
      const limit = `${limitName(rule)} of ${on}`;
      expect(held.has(limit) || missed.includes(limit), limit).toBe(true);
    }
  });

  it("leaves the other windings checked where it is a secondary's", () => {
    const netlist = text("250-0-250V 80mA 200R", "6.3V 2A 40R");
    expect(grave(netlist)).toContain("supply/winding-resistance");
    expect(grave(netlist)).toContain("rating/capacitor-voltage");
    // What the winding is rated for is held against the heater's volts without any figure of a state.
    const heater = of(netlist).margins.filter(({ rule }) => rule === "valve/heater-voltage");
    expect(heater.filter(({ state }) => state !== undefined)).toEqual([]);
    expect(of(netlist).findings.find(({ rule }) => rule === "supply/winding-resistance")?.on[0]).toBe(
      "T1.heater",
    );
  });

  it("tells the winding that is wrong, and not the primary that its load would ask of", () => {
    const found = of(text("250-0-250V 80mA 200k")).findings.filter(
      ({ rule }) => rule === "supply/winding-resistance",
    );
    expect(found.map(({ on }) => on[0])).toEqual(["T1.ht"]);
  });

  // 50 VA at 230 V: 230^2 / (4 * 50) = 264.5 ohms let through no more than that at all.
  it.each([
    ["263R", "warning"],
    ["266R", "error"],
  ])("a primary of %s: %s", (ohms, severity) => {
    const found = of(text("250-0-250V 80mA 200R", "6.3V 1A", `230V ${ohms}`)).findings.find(
      ({ rule }) => rule === "supply/winding-resistance",
    );
    expect(found?.severity).toBe(severity);
    expect(found?.message).toContain("usual");
  });

  it("looks at each of two windings on the mains with its part of the load", () => {
    const two = (first: string, second: string) => `mains 230 V 50 Hz UK
cord W1 1.0mm2 10A { active: a, neutral: c, earth: chassis }
transformer T1 50VA {
  primary 115V ${first} { a b }
  second 115V ${second} { b c }
  heater 6.3V 2A { h1 gnd }
}
`;
    const told = (netlist: string) =>
      of(netlist)
        .findings.filter(({ rule }) => rule === "supply/winding-resistance")
        .map(({ on }) => on[0]);
    expect(told(two("10R", "10R"))).toEqual([]);
    expect(told(two("10R", "10k"))).toEqual(["T1.second"]);
    expect(told(two("10k", "10R"))).toEqual(["T1.primary"]);
  });
});
