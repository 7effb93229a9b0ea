/** What the open standby switch leaves on a reservoir is what it stands at unloaded, not what it stood at while the amplifier played. */
import { describe, expect, it } from "vitest";
import { check } from "../../../server/check.ts";

const netlist = `amp "Cut off by its switch"
mains 230 V 50 Hz
transformer T1 60VA {
  primary 230V 20R           { a b }
  ht      230V 200mA 60R     { x y }
}
bridge BR1 1000V 1A { ac1: x, ac2: y, plus: HT0, minus: gnd }
HT0 -- capacitor C1 47u 450V electrolytic -- gnd
HT0 -- switch S1 standby dc 600V 3A -- HT1
HT1 -- resistor R1 4k7 50W 500V -- gnd
`;

describe("a reservoir that the standby switch cuts off", () => {
  it("is told with its unloaded volts, and their charge", () => {
    const { findings, analysis, circuit } = check("cut-off.ampnet", netlist);
    const at = (state: "standby" | "idle") =>
      analysis.solution(state, "high")!.volts[circuit.netByName.get("HT0")!];
    expect(at("standby")).toBeGreaterThan(1.05 * at("idle"));
    const found = findings.find(({ rule }) => rule === "supply/discharge-path")!;
    expect(found.value).toBeCloseTo(at("standby"), 1);
    const [, volts, joules] = /: ([\d.]+) V, ([\d.]+) J/.exec(found.message)!.map(Number);
    expect(volts / at("standby")).toBeCloseTo(1, 2);
    // C V squared over two.
    expect(joules / (0.5 * 47e-6 * at("standby") ** 2)).toBeCloseTo(1, 2);
  });
});
