/** A voltage selector stands where it suits the mains; by hand, an unloaded winding gives its open-circuit volts by the turns. */
import { describe, expect, it } from "vitest";
import { check } from "../../server/check.ts";

const amplifier = (mains: string, selector: string, way = "") => `amp "Selector"
mains ${mains}
cord W1 1.0mm2 10A anchored {
  active:  inA  60mm brown
  neutral: inN  60mm blue
  earth:   inE 130mm green-yellow
}
inE -- bond E1 own-fixing -- chassis
gnd -- bond E2 own-fixing -- chassis
inA -- fuse F1 T500mA 250V H -- fused
fused -- switch S1 mains 250V 6A -- live
${way}
${selector}
transformer T1 60VA {
  primary 0-110-220-240V 10R { inN t110 t220 t240 }
  test    24V no-load 1R     { x y }
}
gnd -- wire W2 -- y
x -- resistor R1 100k 0.5W 350V -- gnd
`;

/** rms volts of the test winding at idle, nominal mains. */
function test(text: string): number {
  const { circuit, analysis } = check("selector.ampnet", text);
  const index = circuit.nets.findIndex(({ name }) => name === "x");
  return analysis.solution("idle", "nominal")?.rms[index] ?? Number.NaN;
}

// 24 V stand for the whole primary of 240 V.
const expected = (mains: number, tap: number) => (24 * mains) / tap;

describe("a voltage selector", () => {
  const three = "switch S9 voltage 250V 6A { common: live, 1: t110, 2: t220, 3: t240 }";
  it.each([
    ["110 V 50 Hz", 110, 110],
    ["220 V 50 Hz", 220, 220],
    ["230 V 50 Hz UK", 230, 240],
    ["240 V 50 Hz AU", 240, 240],
  ])("stands at the tap for %s", (mains, volts, tap) => {
    expect(test(amplifier(mains, three))).toBeCloseTo(expected(volts, tap), 2);
  });

  it("is found behind an inrush limiter, and with throws called on and off", () => {
    const limited = amplifier(
      "240 V 50 Hz AU",
      "switch S9 voltage 250V 6A spdt { common: warm, on: t220, off: t240 }",
      "live -- thermistor TH1 10R hot 1R 2A -- warm",
    );
    expect(test(limited)).toBeCloseTo(expected(240, 240), 2);
  });

  it("leaves any other switch in its first position", () => {
    const tone = `source B1 10V { plus: a, minus: gnd }
a -- resistor R1 1k 10W 350V -- b
switch S2 tone { common: b, 1: c, 2: d }
c -- resistor R2 1k 10W 350V -- gnd
d -- resistor R3 3k 10W 350V -- gnd
`;
    const { circuit, analysis } = check("tone.ampnet", tone);
    const index = circuit.nets.findIndex(({ name }) => name === "b");
    expect(analysis.solution("idle", "nominal")?.volts[index]).toBeCloseTo(5, 9);
  });

  it("finds a selector that suits in no position by the mains rule alone, and one that does by none", () => {
    const rules = (mains: string) =>
      check("s.ampnet", amplifier(mains, three)).findings.map(({ rule }) => rule);
    expect(rules("240 V 50 Hz AU")).not.toContain("mains/primary-voltage");
    expect(rules("180 V 50 Hz")).toContain("mains/primary-voltage");
  });
});
