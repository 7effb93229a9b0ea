/** A transformer that carries the signal stands in no supply: direct current sees the resistance of its windings alone (Ohm's law). */
import { describe, expect, it } from "vitest";
import { check } from "../../server/check.ts";

const mains = `mains 230 V 50 Hz UK
cord W1 1.0mm2 10A anchored { active: A brown, neutral: N blue, earth: E green-yellow }
E -- bond E1 own-fixing -- chassis
gnd -- bond E2 -- chassis
A -- fuse F1 T2A 250V -- A1
switch S1 mains dpst 250V 6A { 1 { common: A1, on: A2 }, 2 { common: N, on: N2 } }
`;
/** Between a driver and a pair: its middle on a bias supply of its own, by a reservoir that the rectifier stands on. */
const between = (cord: string, leads: string, primary = "p3 B2") => `amp "Interstage"
${cord}transformer T1 100VA {
  primary 230V 10R { ${leads} }
  bias 40V 50mA 20R { b1 gnd }
  lt 6.3V 5A 0.02R { h1 h2 }
}
h1 -- resistor R1 100R 0.5W -- gnd
h2 -- resistor R2 100R 0.5W -- gnd
source B1 300V { plus: B2, minus: gnd }
nb -- diode D5 1N4007 -- b1
gnd -- capacitor C5 100u 100V electrolytic -- nb
nb -- resistor R7 47k 0.5W -- gnd
valve V3 6J5 { plate: p3, grid: g3, cathode: k3, heater: h1 h2 }
g3 -- resistor R17 470k 0.5W -- gnd
k3 -- resistor R18 1k8 0.5W -- gnd
transformer T3 {
  primary 10V 400R { ${primary} }
  split 15-0-15V 3k 1mA { ga nb gb }
}
source B3 400V { plus: B4, minus: gnd }
valve V4 6L6GC { plate: B4, screen: s4, grid: ga, cathode: gnd, heater: h1 h2 }
valve V5 6L6GC { plate: B4, screen: s5, grid: gb, cathode: gnd, heater: h1 h2 }
B4 -- resistor R20 1k 5W -- s4
B4 -- resistor R21 1k 5W -- s5
`;

const idle = (text: string) => {
  const result = check("test.ampnet", text);
  const solution = result.analysis.solution("idle", "nominal");
  if (!solution?.solved) throw new Error("not solved");
  const volts = (name: string) => solution.volts[result.circuit.nets.findIndex((net) => net.name === name)];
  return { ...result, volts };
};

describe("a transformer between two stages", () => {
  it.each([
    ["with a cord", between(mains, "A2 N2")],
    ["without one", between("mains 230 V 50 Hz UK\n", "A2 N2")],
  ])("%s: drops its resistance times the current, and hands no direct volts on", (_, text) => {
    const { volts, findings } = idle(text);
    const amps = volts("k3") / 1800;
    expect(amps).toBeGreaterThan(3e-3);
    expect(volts("B2") - volts("p3")).toBeCloseTo(400 * amps, 3);
    for (const grid of ["ga", "gb"]) expect(volts(grid)).toBeCloseTo(volts("nb"), 6);
    // A half-wave supply with next to no load: near the winding's crest.
    expect(volts("nb")).toBeLessThan(-0.95 * 40 * Math.SQRT2);
    expect(findings.map(({ rule }) => rule)).not.toContain("valve/bias-missing");
  });

  it("is a supply's all the same where its primary stands on the mains", () => {
    const voltAmperes = (primary: string) =>
      idle(between(mains, "A2 N2", primary))
        .analysis.solution("idle", "nominal")
        ?.readings.get("T3.primary")?.voltAmperes;
    // 230 V across a winding that is made for 10 V: whatever hangs on it, it draws.
    expect(voltAmperes("A2 N2")).toBeGreaterThan(0);
    expect(voltAmperes("p3 B2")).toBeUndefined();
  });

  it("leaves a supply alone whose bias winding goes straight to a grid", () => {
    const text = between(mains, "A2 N2").replace("grid: gb", "grid: b1");
    expect(idle(text).volts("nb")).toBeLessThan(-0.9 * 40 * Math.SQRT2);
  });
});
