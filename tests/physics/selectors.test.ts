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

describe("two primaries", () => {
  // 120 V each: one behind the other for 240 V, side by side for 120 V. By hand: 24 V for 120 V on each, and the turns give the rest.
  const two = (mains: string, selector: string, more = "") => `mains ${mains}
cord W1 1.0mm2 10A anchored {
  active:  inA  60mm brown
  neutral: inN  60mm blue
  earth:   inE 130mm green-yellow
}
inE -- bond E1 own-fixing -- chassis
gnd -- bond E2 -- chassis
inA -- fuse F1 T500mA 250V H -- fused
switch S1 mains dpst 250V 6A {
  1 { common: fused, on: live }
  2 { common: inN, on: cold }
}
${selector}
transformer T1 60VA {
  primary 120V 10R    { live p2 }
  other   120V 10R    { q1 cold }
  test    24V no-load 1R { x gnd }
}
x -- resistor R1 24R 100W -- gnd
${more}`;
  const series = "p2 -- wire W9 600V -- q1";
  const parallel = "p2 -- wire W8 600V -- cold\nq1 -- wire W9 600V -- live";
  const chosen = `switch S9 voltage dpdt 250V 6A {
  1 { common: p2, 1: cold, 2: mid }
  2 { common: q1, 1: live, 2: mid }
}`;
  // 24 Ω on 24 V is 1 Ω and 600 Ω seen from 120 V with 5 Ω of copper there, 2400 Ω and 20 Ω from 240 V: the same share.
  const expectedVolts = ((24 / 25) * 24) / (1 + 5 / (25 * 25));
  it.each([
    ["in series on 240 V", "240 V 50 Hz", series],
    ["side by side on 120 V", "120 V 60 Hz", parallel],
    ["by the selector on 240 V", "240 V 50 Hz", chosen],
    ["by the selector on 120 V", "120 V 60 Hz", chosen],
  ])("%s give the secondary its volts, and the mains rules are content", (_, mains, selector) => {
    const text = two(mains, selector);
    expect(test(text)).toBeCloseTo(expectedVolts, 1);
    const { findings, analysis } = check("two.ampnet", text);
    const told = findings.filter(
      ({ rule, severity }) => /^mains|transformer|winding/.test(rule) && severity !== "advice",
    );
    expect(told.map(({ rule, message }) => `${rule} ${message}`)).toEqual([]);
    const idle = analysis.solution("idle", "nominal");
    // All of it comes out of the mains: what the load and the copper take.
    const [load, copper] = ["R1", "T1"].map((key) => idle?.readings.get(key)?.watts ?? Number.NaN);
    expect(idle?.readings.get("T1")?.voltAmperes).toBeCloseTo(load + copper, 1);
  });
  it("are told where they stand on the wrong mains, together", () => {
    const found = (mains: string, selector: string) =>
      check("two.ampnet", two(mains, selector)).findings.find(({ rule }) => rule === "mains/primary-voltage");
    expect(found("240 V 50 Hz", parallel)?.message).toMatch(
      /T1\.primary and T1\.other are, as they are joined, wound for 120 V and stand on 240 V mains/,
    );
    expect(found("120 V 60 Hz", series)?.message).toMatch(/wound for 240 V and stand on 120 V/);
  });
  it("give a rectifier's plate what the turns say", () => {
    const rectified = (mains: string, selector: string) =>
      check(
        "two.ampnet",
        two(
          mains,
          selector,
          `valve V1 EZ81 { plate1: a, plate2: b, cathode: HT, heater: h gnd }
HT -- capacitor C1 32u 500V electrolytic -- gnd
HT -- resistor R2 10k 20W 500V -- gnd
`,
        ).replace("test ", "ht 250-0-250V no-load 100R { a gnd b }\n  lt 6.3V 1A { h gnd }\n  test "),
      ).findings.find(({ rule }) => rule === "supply/plate-impedance");
    // 50 Ω of its own and the mains' copper by the turns squared: 20 Ω at 240 V and 5 Ω at 120 V are the same.
    const seen = 50 + 20 * (250 / 240) ** 2;
    for (const [mains, selector] of [
      ["240 V 50 Hz", series],
      ["120 V 60 Hz", chosen],
    ]) {
      const told = rectified(mains, selector);
      expect(told?.value).toBeCloseTo(seen, 3);
      expect(told?.message).toContain("at 250 V rms");
    }
  });
  it("are as one tapped primary of which a part is used: by turns, 250 V on the plates and 5 Ω seen from 120 V", () => {
    const text = two("120 V 60 Hz", "").replace(
      /primary.*\n.*other.*\n/,
      "primary 0-120-240V 10R { cold live nc }\n  ht 250-0-250V no-load 100R { a gnd b }\n  lt 6.3V 1A { h gnd }\n",
    );
    const { findings } = check(
      "tap.ampnet",
      `${text}valve V1 EZ81 { plate1: a, plate2: b, cathode: HT, heater: h gnd }
HT -- capacitor C1 32u 500V electrolytic -- gnd
HT -- resistor R2 10k 20W 500V -- gnd
`,
    );
    const told = findings.find(({ rule }) => rule === "supply/plate-impedance");
    expect(told?.value).toBeCloseTo(50 + 5 * (250 / 120) ** 2, 3);
    expect(told?.message).toContain("at 250 V rms");
  });
});
