/** Couplings between earlier stages: ln 10 times the leak times the capacitance. */
import { describe, expect, it } from "vitest";
import { told } from "../limits.ts";

const RULE = "valve/blocking";
const stages = (
  coupling: string,
  way = "c1 -- resistor R4 1M 0.5W 0% -- gnd\nc1 -- resistor R8 68k 0.5W -- g2",
) => `source B1 280V { plus: HT, minus: gnd }
valve V1 ECC83 { a { plate: p1, grid: g1, cathode: k1 }, b { plate: p2, grid: g2, cathode: k2 } }
g1 -- resistor R1 1M 0.5W -- gnd
HT -- resistor R2 100k 1W -- p1
k1 -- resistor R3 1k5 0.5W -- gnd
k1 -- capacitor C2 47u 25V electrolytic -- gnd
${coupling}
${way}
HT -- resistor R5 100k 1W -- p2
k2 -- resistor R6 1k5 0.5W -- gnd
`;

describe("a coupling capacitor of the wrong decade", () => {
  it("is told by the time that it takes, at its value", () => {
    const [found] = told(stages("p1 -- capacitor C1 22u 400V film -- c1"), RULE, "C1");
    expect(found.severity).toBe("warning");
    expect(found.value).toBeCloseTo(Math.LN10 * 1e6 * 22e-6, 6);
    expect(found.message).toMatch(/^C1 of 22 µF into 1 MΩ: .*V1\.b .* Look at its decade/);
  });
  it("is told behind a volume control too", () => {
    const pot = "pot RV1 1M audio 0.25W { top: c1, wiper: w, bottom: gnd }\nw -- resistor R8 68k 0.5W -- g2";
    expect(told(stages("p1 -- capacitor C1 22u 400V film -- c1", pot), RULE, "C1")).toHaveLength(1);
  });
  it("is passed up to a microfarad and some, and where it bypasses", () => {
    for (const farads of ["22n", "1u", "2u2"])
      expect(told(stages(`p1 -- capacitor C1 ${farads} 400V film -- c1`), RULE, "C1")).toEqual([]);
    const bypass = `${stages("p1 -- capacitor C1 22n 400V film -- c1")}HT -- capacitor C3 47u 400V electrolytic -- gnd\n`;
    expect(told(bypass, RULE, "C3")).toEqual([]);
    expect(told(bypass, RULE, "C2")).toEqual([]);
  });
});
