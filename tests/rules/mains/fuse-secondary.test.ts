/** Fuses behind the transformer: held below by what they carry, above by what the winding behind them may give. */
import { describe, expect, it } from "vitest";
import { analysisOf, errorOn, missed, told } from "../limits.ts";

const RULE = "mains/fuse-value";

const amp = (lead: string, winding = "230-0-230V 100mA 150R", rectifier = "xf -- diode D1 1N4007 -- HT") =>
  `mains 230 V 50 Hz UK
transformer T1 60VA {
  primary 230V 14R { a b }
  ht ${winding} { x gnd y }
}
${lead}
${rectifier}
y -- diode D2 1N4007 -- HT
HT -- capacitor C1 47u 450V electrolytic -- gnd
HT -- resistor R1 220k 2W 500V -- gnd
HTf -- resistor R2 1k 2W -- s1
valve V1 EL84 { plate: p1, screen: s1, grid: g1, cathode: k }
g1 -- resistor R4 470k 0.5W -- gnd
k -- resistor R6 270R 3W -- gnd
output-transformer T2 8W { plates 5k 60mA 300R { p1 HTf }, speaker 8R { gnd spk } }
spk -- speaker LS1 8R 30W -- gnd
`;
const direct = (fuse: string, winding?: string) =>
  amp(`HT -- fuse F2 ${fuse} 500V -- HTf\nx -- wire -- xf`, winding);
const alternating = (fuse: string) => amp(`HT -- wire -- HTf\nx -- fuse F2 ${fuse} 500V -- xf`);

describe("a fuse in the high tension", () => {
  it("carries what the valves behind it draw, by their cathode resistor", () => {
    const text = direct("T32mA");
    const found = errorOn(text, RULE, "F2");
    const cathode = analysisOf(text).solution("idle", "high")?.readings.get("R6")?.amps ?? Number.NaN;
    expect(found?.value).toBeCloseTo(Math.abs(cathode), 5);
    expect(found?.message).toMatch(
      /^F2 carries 4\d\.?\d* mA at idle at high mains; rated 32 mA, .* Fit T63mA, time-lag\.$/,
    );
  });
  it("may be five times what its winding may give, and no more", () => {
    // Centre-tapped, one ampere of direct current for one of a half's rms: 500 mA.
    expect(told(direct("T500mA"), RULE, "F2")).toEqual([]);
    const found = errorOn(direct("T630mA"), RULE, "F2");
    expect(found?.limit).toBe(0.5);
    expect(found?.on).toContain("T1.ht");
    expect(found?.message).toContain("Fit T125mA, time-lag.");
  });
  it("is held through two rectifiers in series too", () => {
    const text = amp(
      "HT -- fuse F2 T5A 500V -- HTf",
      undefined,
      "x -- diode D1 1N4007 -- xf\nxf -- diode D3 1N4007 -- HT",
    );
    expect(errorOn(text, RULE, "F2")?.on).toContain("T1.ht");
  });
  it("is unchecked above where the winding has no current written", () => {
    const text = direct("T5A", "230-0-230V 150R");
    expect(told(text, RULE, "F2")).toEqual([]);
    expect(missed(text, "F2")).toMatch(/its value against T1\.ht \(no current written there\)/);
  });
});

describe("a fuse in a winding's lead", () => {
  it("carries the winding's rms current", () => {
    const text = alternating("T40mA");
    const found = errorOn(text, RULE, "F2");
    // In series with one half of the winding.
    const half = analysisOf(text).solution("idle", "high")?.readings.get("T1.ht.1")?.rms ?? Number.NaN;
    expect(found?.value).toBeCloseTo(half, 6);
    expect(found?.value).toBeGreaterThan(0.04);
  });
  it("may be five times what it is wound for", () => {
    expect(told(alternating("T500mA"), RULE, "F2")).toEqual([]);
    expect(errorOn(alternating("T1A"), RULE, "F2")?.message).toMatch(
      /^F2 is 1 A, and T1\.ht is wound for 100 mA: at most 500 mA protects it\. .* Fit T125mA, time-lag\.$/,
    );
  });
});
