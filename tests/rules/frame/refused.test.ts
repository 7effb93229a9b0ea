/** A winding whose volts are missing or refused: the error is told, and what rests on it is unchecked. */
import { describe, expect, it } from "vitest";
import { check } from "../../../server/check.ts";

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
