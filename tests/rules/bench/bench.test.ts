import { describe, expect, it } from "vitest";
import { findingsOf, told } from "../mains/told.ts";

/** A divider: 150 V at p1, R1 and R2 of 5 %; by hand, the band is 150 V ± 2 · (5 % · 75 V) = 142.5 to 157.5 V. */
const divider = (more: string) => `amp "Divider"
source B1 300V { plus: HT1, minus: gnd }
HT1 -- resistor R1 470k 5% 1W 500V -- p1
p1 -- resistor R2 470k 5% 1W 500V -- gnd
${more}
`;
const bench = (more: string) => told(divider(more)).filter((line) => line.includes("bench/"));

describe("readings against the computed band", () => {
  it.each([
    // The band widened by 1 % of the reading: 141.1 and 159.1 V.
    ["measured p1 150V", []],
    ["measured p1 141.2V", []],
    ["measured p1 140.5V", ["advice bench/reading"]],
    ["measured p1 159V", []],
    ["measured p1 160V", ["advice bench/reading"]],
    // A fifth off: 120 and 180 V.
    ["measured p1 121V", ["advice bench/reading"]],
    ["measured p1 119V", ["warning bench/reading"]],
    ["measured p1 181V", ["warning bench/reading"]],
    ["measured across R1 150V", []],
    ["measured across R1 170V", ["advice bench/reading"]],
    ["measured R2 0.32mA", []],
    ["measured R2 0.6mA", ["warning bench/reading"]],
  ])("%s", (line, expected) => {
    expect(bench(line)).toEqual(expected);
  });

  it("says which parts would explain it, by the right amount", () => {
    const [found] = findingsOf(divider("measured p1 135V")).filter(({ rule }) => rule === "bench/reading");
    // dV/dlnR1 = -75 V: to first order R1 20 % high, or R2 20 % low, for -15 V.
    expect(found.message).toContain("R1 at 564 kΩ (+20 %)");
    expect(found.message).toContain("R2 at 376 kΩ (−20 %)");
    expect(found.on).toEqual(["p1", "R1", "R2"]);
  });

  it.each([
    ["measured across R1 150V", []],
    ["measured across R1 110V", ["warning bench/reading"]],
    ["measured across R1 -150V", []],
    ["measured R1 0.32mA", []],
    ["measured R1 0.6mA", ["warning bench/reading"]],
  ])("holds %s to the amount, though the resistor is written the other way round", (line, expected) => {
    const turned = `source B1 300V { plus: HT1, minus: gnd }
p1 -- resistor R1 470k 5% 1W 500V -- HT1
p1 -- resistor R2 470k 5% 1W 500V -- gnd
${line}
`;
    expect(told(turned).filter((each) => each.includes("bench/"))).toEqual(expected);
    const [found] = findingsOf(turned).filter(({ rule }) => rule === "bench/reading");
    // dV/dlnR2 = −75 V across R1: to first order R2 is 53 % high for −40 V.
    if (line.includes("110V")) expect(found.message).toMatch(/low by 27 %.*R2 at 721 kΩ \(\+53 %\)/);
  });

  it("tells a sign that is written and wrong across a part by its ends", () => {
    const [found] = findingsOf(divider("measured across R1 -150V"));
    expect(found.rule).toBe("bench/reading-impossible");
    expect(found.message).toContain("positive from the first to the second end");
  });

  it("keeps a reading apart from an impossible one that only shares a suspect with it", () => {
    expect(bench("measured p1 90V\nmeasured across R1 -150V")).toEqual([
      "warning bench/reading",
      "warning bench/reading-impossible",
    ]);
  });

  it("takes the margin that the options or the file set", () => {
    expect(bench("measured p1 119V\nassume derate bench 30%")).toEqual(["advice bench/reading"]);
  });
});

describe("readings at another mains voltage", () => {
  // Unloaded but for a megohm: the dc follows the mains in proportion.
  const supply = (line: string) => `amp "Supply"
mains 230 V 50 Hz AU
transformer T1 20VA {
  primary 230V 40R { live inN }
  ht 200V no-load 100R { ha gnd }
}
ha -- diode D1 1N4007 -- B
B -- capacitor C1 22u 450V electrolytic -- gnd
B -- resistor R1 1M 1W 500V -- gnd
${line}
`;
  const volts = (mains: number) => (200 * mains * Math.SQRT2) / 230 - 0.7;
  it.each([220, 230, 240, 250])("holds it at %d V", (mains) => {
    const at = (factor: number) =>
      told(supply(`measured B ${(volts(mains) * factor).toFixed(1)}V at mains ${mains}V`)).filter((line) =>
        line.includes("bench/"),
      );
    expect(at(1)).toEqual([]);
    expect(at(0.75)).toEqual(["warning bench/reading"]);
  });
  it("without a mains voltage, anywhere in the supply's range will do", () => {
    const low = supply(`measured B ${volts(217).toFixed(1)}V`);
    expect(told(low).filter((line) => line.includes("bench/"))).toEqual([]);
    const same = supply(`measured B ${volts(217).toFixed(1)}V at mains 230V`);
    expect(told(same).filter((line) => line.includes("bench/reading"))).toHaveLength(1);
  });
});

describe("readings that cannot be", () => {
  const impossible = (more: string) => told(divider(more)).filter((line) => line.includes("bench/"));
  it.each([
    ["above everything", "measured p1 1500V", ["warning bench/reading-impossible"]],
    ["the wrong sign", "measured p1 -150V", ["warning bench/reading-impossible"]],
    ["uphill", "measured HT1 250V\nmeasured p1 290V", ["warning bench/reading-impossible"]],
    ["downhill", "measured HT1 300V\nmeasured p1 150V", []],
  ])("%s", (_, more, expected) => {
    expect(impossible(more)).toEqual(expected);
  });
});

describe("bias from a reading", () => {
  const stage = (readings: string, extra = "") => `amp "Output"
source B1 250V { plus: HT1, minus: gnd }
source B2 6.3V { plus: h1, minus: gnd }
valve V1 EL84 { plate: HT1, screen: HT1, grid: g1, cathode: k1, heater: h1 gnd }
g1 -- resistor R1 470k 0.5W 350V -- gnd
k1 -- resistor R2 130R 5W 500V wirewound -- gnd
${extra}${readings}
`;
  const bias = (text: string) => findingsOf(text).filter(({ rule }) => rule === "bench/bias");
  it("computes the dissipation from the drop across the cathode resistor", () => {
    expect(bias(stage("measured V1.cathode 6V"))).toEqual([]);
    const [found] = bias(stage("measured V1.cathode 9V"));
    // 9 V over 130 Ω is 69 mA; some nine tenths of it in the plate, at 241 V.
    expect(found.value).toBeGreaterThan(0.85 * (9 / 130) * 241);
    expect(found.value).toBeLessThan((9 / 130) * 241);
    expect(found).toMatchObject({ severity: "error", limit: 12, unit: "W" });
    expect(found.on).toEqual(["V1", "R2", "V1.cathode"]);
  });
  it("takes a plate current as it is", () => {
    const [found] = bias(stage("measured V1.plate 60mA\nmeasured V1.cathode 7V"));
    expect(found.value).toBeCloseTo(0.06 * 243, 6);
  });
  it("shares a resistor among valves of one type, in one finding", () => {
    const second = "valve V2 EL84 { plate: HT1, screen: HT1, grid: g1, cathode: k1, heater: h1 gnd }\n";
    const found = bias(stage("measured across R2 16V", second));
    expect(found.map(({ on }) => on)).toEqual([["V1", "V2", "R2"]]);
  });
  it("is quiet where another way leaves the cathode", () => {
    expect(bias(stage("measured V1.cathode 9V", "k1 -- resistor R3 1k 1W 350V -- gnd\n"))).toEqual([]);
  });
});

describe("bench/bias on a section", () => {
  const text = (line: string) => `amp "One bottle"
source B1 260V { plus: HT, minus: gnd }
source B2 6.3V { plus: h1, minus: gnd }
HT -- resistor R1 100k 1W 500V -- p1
valve V1 ECL82 {
  triode { plate: p1, grid: g1, cathode: k1 }
  pentode { plate: HT, screen: HT, grid: g2, cathode: k2 }
  heater: h1 gnd
}
g1 -- resistor R2 1M 0.5W -- gnd
g2 -- resistor R3 470k 0.5W -- gnd
k1 -- resistor R4 2k2 0.5W -- gnd
k2 -- resistor R5 680R 3W wirewound -- gnd
measured ${line}
`;
  const over = (line: string) =>
    findingsOf(text(line))
      .filter(({ rule }) => rule === "bench/bias")
      .map(({ on, value, limit }) => ({ on: on.slice(0, 2), value, limit }));

  it.each(["V1.pentode.plate", "V1.b.plate"])("holds the current at %s to that section's watts", (plate) => {
    // 260 V less what the cathode stands at, some 22 V: 30 mA are 7.1 W, 29 mA 6.9 W, of 7 W.
    expect(over(`${plate} 30mA`)).toEqual([
      { on: ["V1", "V1.pentode.plate"], value: expect.closeTo(7.1, 0), limit: 7 },
    ]);
    expect(over(`${plate} 28mA`)).toEqual([]);
  });
  it.each(["V1", "V1.pentode", "V1.b", "V1.pentode.plate", "V1.b.plate"])("is waived on %s", (on) => {
    const line = `V1.b.plate 30mA\nwaive bench/bias on ${on} because "on the bench"`;
    const found = findingsOf(text(line));
    expect(found.filter(({ rule }) => rule === "bench/bias").map(({ waived }) => waived?.reason)).toEqual([
      "on the bench",
    ]);
    expect(found.filter(({ rule }) => rule === "circuit/waive-unused")).toEqual([]);
  });
  it.each(["V1.a", "V1.triode.plate", "V1.pentode.grid"])("is not waived on %s", (on) => {
    const found = findingsOf(text(`V1.b.plate 30mA\nwaive bench/bias on ${on} because "on the bench"`));
    expect(found.find(({ rule }) => rule === "bench/bias")?.waived).toBeUndefined();
    expect(found.some(({ rule }) => rule === "circuit/waive-unused")).toBe(true);
  });
  it("holds what a cathode resistor says to the section whose cathode it is", () => {
    expect(over("V1.triode.plate 9mA")).toMatchObject([{ limit: 1 }]);
    expect(over("V1.triode.cathode 2V")).toEqual([]);
    expect(over("V1.pentode.cathode 25V")).toMatchObject([{ on: ["V1", "R5"], limit: 7 }]);
  });
});
