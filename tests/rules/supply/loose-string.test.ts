import { describe, expect, it } from "vitest";
import { check } from "../../../server/check.ts";

const netlist = (balance: string): string => `amp "Series reservoirs"
mains 230 V 50 Hz
transformer T1 220VA {
  primary 230V 5R5 { q2 q3 }
  ht 300-0-300V 200mA 120R { a gnd c }
}
a -- diode D1 1000V 3A -- r1
c -- diode D2 1000V 3A -- r1
r1 -- capacitor C1 100u 350V electrolytic -- mid
mid -- capacitor C2 50u 350V electrolytic -- gnd
${balance}
switch S2 standby dc 600V 3A { common: r1, on: HT }
HT -- resistor R1 4k7 200W wirewound 900V -- gnd
`;

describe("two reservoirs in series that nothing shares", () => {
  const result = check("loose.ampnet", netlist(""));

  it("have no direct volts of their own, and ripple by their capacitances", () => {
    const { readings } = result.analysis!.solution("idle", "nominal")!;
    const [one, other] = ["C1", "C2"].map((key) => readings.get(key));
    expect(one?.volts).toBeUndefined();
    expect(other?.volts).toBeUndefined();
    expect(one?.rmsVolts).toBeUndefined();
    expect(other!.ripple! / one!.ripple!).toBeCloseTo(2, 2);
  });

  it("empty together from what the same charge gave each", () => {
    const { warm } = result.analysis!.discharge.get("high")!;
    const whole = result.analysis!.solution("idle", "high")!.volts[result.circuit.netByName.get("r1")!];
    const [one, other] = ["C1", "C2"].map((reference) => warm.get(reference)!);
    // One charge through both: the smaller has twice the volts of the larger.
    expect(one.volts).toBeCloseTo(whole / 3, 1);
    expect(other.volts).toBeCloseTo((2 * whole) / 3, 1);
    // 33 uF through 4.7 kohm, until a third of it is 60 V.
    const seconds = 4700 * (100e-6 / 3) * Math.log(whole / 3 / 60);
    expect(Math.abs(one.secondsTo60V! / seconds - 1)).toBeLessThan(0.01);
  });

  it("are told as charged behind the open standby switch, and neither as reversed", () => {
    const told = result.findings.map(({ rule, message }) => `${rule}: ${message}`);
    expect(told.filter((text) => text.startsWith("rating/capacitor-reverse"))).toEqual([]);
    expect(told.find((text) => text.startsWith("supply/discharge-path"))).toContain(
      "C1 and C2 are never emptied when switched off in standby",
    );
  });

  it("are told with what a hand finds over both, and what both hold", () => {
    const path = result.findings.find(({ rule }) => rule === "supply/discharge-path")!;
    const whole = result.analysis!.solution("idle", "high")!.volts[result.circuit.netByName.get("r1")!];
    // By hand: two thirds over the smaller; the string is 33 1/3 uF.
    const joules = (100e-6 / 3) * 0.5 * whole ** 2;
    const [, one, string, energy] = /([\d.]+) V over one, ([\d.]+) V over the string, ([\d.]+) J/
      .exec(path.message)!
      .map(Number);
    expect(one / ((2 * whole) / 3)).toBeCloseTo(1, 2);
    expect(string / whole).toBeCloseTo(1, 2);
    expect(energy / joules).toBeCloseTo(1, 1);
    expect(path.value! / whole).toBeCloseTo(1, 3);
  });

  it("are emptied in standby by resistors that share them", () => {
    const shared = "r1 -- resistor R2 100k 3W 500V -- mid\nmid -- resistor R3 100k 3W 500V -- gnd";
    const { findings } = check("shared.ampnet", netlist(shared));
    expect(findings.filter(({ rule }) => rule === "supply/discharge-path")).toEqual([]);
  });
});
