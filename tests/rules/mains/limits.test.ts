/** Each limit of the mains side just kept and just passed. The figures are those of the standards named beside them. */
import { describe, expect, it } from "vitest";
import { example } from "../../../server/rules/mains/example.ts";
import { entryAmps } from "../../../server/rules/mains/running.ts";
import { findingsOf, told } from "./told.ts";

const LAMP = "h1 -- lamp LP1 6.3V 5A -- gnd";
const rest = (more: string, mains?: string) => example({ name: "Case", mains, rest: `${LAMP}\n${more}` });
const wound = (primary: string, mains?: string, way?: string) =>
  example({
    name: "Case",
    mains,
    way,
    transformer: `transformer T1 60VA {\n  primary ${primary} 30R { live inN }\n  heater 6.3V 5A { h1 gnd }\n}`,
  });
const fused = (fact: string) =>
  example({ name: "Case", way: `inA -- fuse F1 ${fact} -- fused\nfused -- switch S1 mains 250V 6A -- live` });
const switched = (fact: string) =>
  example({
    name: "Case",
    way: `inA -- fuse F1 T315mA 250V -- fused\nfused -- switch S1 mains ${fact} -- live`,
  });

const US = "mains 120 V 60 Hz US";
const US_CORD = `cord W1 0.82mm2 anchored {
  active:  inA  60mm black
  neutral: inN  60mm white
  earth:   inE 110mm green
}`;
const us = (more: string) =>
  example({
    name: "Case",
    mains: US,
    cord: US_CORD,
    way: "inA -- fuse F1 T630mA 250V -- fused\nfused -- switch S1 mains 250V 6A -- live",
    transformer: "transformer T1 40VA {\n  primary 120V 8R { live inN }\n  heater 6.3V 5A { h1 gnd }\n}",
    rest: `${LAMP}\n${more}`,
  });

const KEPT: string[] = [];

describe("touch current", () => {
  // IEC 60950-1 table 5A, 3.5 mA: 44.03 nF at 253 V 50 Hz; ANSI C101, 0.5 mA: 10.44 nF at 127 V 60 Hz.
  it.each([
    ["AU 43.99 nF", rest("live -- capacitor C1 41.9n 5% Y2 250VAC ceramic -- chassis"), KEPT],
    [
      "AU 44.1 nF",
      rest("live -- capacitor C1 42n 5% Y2 250VAC ceramic -- chassis"),
      ["error mains/touch-current"],
    ],
    ["US 10.4 nF", us("live -- capacitor C1 9.9n 5% Y2 250VAC ceramic -- chassis"), KEPT],
    [
      "US 10.5 nF",
      us("live -- capacitor C1 10n 5% Y2 250VAC ceramic -- chassis"),
      ["error mains/touch-current"],
    ],
    [
      "a sum of two",
      rest(
        "live -- capacitor C1 22n 5% Y2 250VAC ceramic -- chassis\nlive -- capacitor C2 22n 5% Y2 250VAC ceramic -- gnd",
      ),
      ["error mains/touch-current"],
    ],
    [
      "one on each conductor, polarised plug",
      rest(
        "live -- capacitor C1 33n 5% Y2 250VAC ceramic -- chassis\ninN -- capacitor C2 33n 5% Y2 250VAC ceramic -- chassis",
      ),
      KEPT,
    ],
    [
      "a resistor of 73 kΩ",
      rest("live -- resistor R1 73k 5W 1000V -- chassis"),
      ["warning mains/touch-current"],
    ],
    [
      "a resistor of 72 kΩ",
      rest("live -- resistor R1 72k 5W 1000V -- chassis"),
      ["error mains/touch-current"],
    ],
  ])("%s", (_, text, expected) => {
    expect(told(text)).toEqual(expected);
  });

  it("counts the neutral's capacitors where the plug can be turned over", () => {
    const text = rest("inN -- capacitor C2 47n 5% Y2 250VAC ceramic -- chassis", "mains 230 V 50 Hz EU");
    expect(told(text)).toContain("error mains/touch-current");
  });

  it("computes what the formula gives", () => {
    const [found] = findingsOf(rest("live -- capacitor C1 47n 20% Y2 250VAC ceramic -- chassis"));
    // 2π · 50 Hz · 56.4 nF · 253 V
    expect(found.value).toBeCloseTo(2 * Math.PI * 50 * 47e-9 * 1.2 * 253, 9);
  });
});

describe("class of mains capacitors (IEC 60384-14)", () => {
  it.each([
    ["X2 across", rest("live -- capacitor C1 100n X2 275VAC film -- inN"), KEPT],
    ["Y2 across", rest("live -- capacitor C1 4n7 Y2 250VAC ceramic -- inN"), KEPT],
    ["none across", rest("live -- capacitor C1 100n 630V film -- inN"), ["error mains/line-capacitor"]],
    [
      "X2 to the metal",
      rest("live -- capacitor C1 4n7 X2 275VAC film -- chassis"),
      ["error mains/line-capacitor"],
    ],
    ["none to common", rest("inN -- capacitor C1 4n7 630V film -- gnd"), ["error mains/line-capacitor"]],
    [
      "Y4 on 230 V",
      rest("live -- capacitor C1 2n2 Y4 250VAC ceramic -- chassis"),
      ["error mains/line-capacitor"],
    ],
    ["Y4 on 120 V", us("live -- capacitor C1 2n2 Y4 125VAC ceramic -- chassis"), KEPT],
    ["X2 of 229 V", rest("live -- capacitor C1 100n X2 229VAC film -- inN"), ["error mains/line-capacitor"]],
    ["X2 of 230 V", rest("live -- capacitor C1 100n X2 230VAC film -- inN"), KEPT],
    [
      "behind a resistor",
      rest("live -- resistor R1 100R 1W 350V -- mid\nmid -- capacitor C1 4n7 630V film -- chassis"),
      ["error mains/line-capacitor"],
    ],
    [
      "across the switch",
      rest("fused -- capacitor C1 10n 630V film -- live"),
      ["error mains/line-capacitor"],
    ],
    ["on the secondary", rest("h1 -- capacitor C1 100n 63V film -- gnd"), KEPT],
  ])("%s", (_, text, expected) => {
    expect(told(text)).toEqual(expected);
  });
});

describe("discharge after unplugging", () => {
  // IEC 60065 9.1.6: 60 V in 2 s from 253 V; 0.1 µF exempt. 5.09 MΩ empties 0.22 µF in time (5.091 MΩ exactly).
  const bare = (farads: string, ohms?: string) =>
    rest(
      `fused -- capacitor C1 ${farads} X2 275VAC film -- inN${ohms ? `\nfused -- resistor R1 ${ohms} 1W 500V -- inN` : ""}`,
    );
  it.each([
    ["0.1 µF without a bleeder", bare("100n"), KEPT],
    ["0.101 µF without one", bare("101n"), ["warning mains/capacitor-bleed"]],
    ["0.22 µF with 5.09 MΩ", bare("220n", "5.09M"), KEPT],
    ["0.22 µF with 5.1 MΩ", bare("220n", "5.1M"), ["warning mains/capacitor-bleed"]],
    ["0.47 µF with 2.37 MΩ", bare("470n", "2.37M"), KEPT],
    ["0.47 µF with 2.4 MΩ", bare("470n", "2.4M"), ["warning mains/capacitor-bleed"]],
    [
      "two that make 0.2 µF",
      rest(
        "fused -- capacitor C1 100n X2 275VAC film -- inN\nfused -- capacitor C2 100n X2 275VAC film -- inN",
      ),
      ["warning mains/capacitor-bleed"],
    ],
    ["behind the switch, across the primary", rest("live -- capacitor C1 470n X2 275VAC film -- inN"), KEPT],
  ])("%s", (_, text, expected) => {
    expect(told(text)).toEqual(expected);
  });

  it("says in which position, and offers a bleeder that helps", () => {
    const [found] = findingsOf(bare("220n"));
    expect(found.message).toContain("with S1 off");
    expect(found.fix?.edits[0].text).toMatch(/resistor R\d+ 1M/);
  });
});

describe("ratings against the nominal mains", () => {
  it.each([
    ["fuse of 230 V", fused("T315mA 230V"), KEPT],
    ["fuse of 229 V", fused("T315mA 229V"), ["error mains/fuse-voltage"]],
    ["switch of 230 V", switched("230V 6A"), KEPT],
    ["switch of 229 V", switched("229V 6A"), ["error mains/switch-rating"]],
    ["switch of 100 mA", switched("250V 100mA"), ["error mains/switch-rating"]],
  ])("%s", (_, text, expected) => {
    expect(told(text)).toEqual(expected);
  });

  it.each([
    ["of 250 V in an HT of 300 V", "HT -- fuse F9 T100mA 250V -- HTf", 300, ["error mains/fuse-voltage"]],
    ["of 300 V", "HT -- fuse F9 T100mA 300V -- HTf", 300, []],
    ["of 32 V in 50 V", "HT -- fuse F9 T100mA 32V -- HTf", 50, []],
  ])("fuse %s", (_, fuse, volts, expected) => {
    const text = `source B1 ${volts}V { plus: HT, minus: gnd }\n${fuse}\nHTf -- resistor R9 100k 5W 500V -- gnd\n`;
    expect(told(text).filter((found) => found.includes("fuse"))).toEqual(expected);
  });

  it("says of a fuse in the HT what stands across it, and in which state", () => {
    const [found] = findingsOf(
      "source B1 300V { plus: HT, minus: gnd }\nHT -- fuse F9 T100mA 250V -- f\nf -- resistor R9 100k 5W 500V -- gnd\n",
    ).filter(({ rule }) => rule === "mains/fuse-voltage");
    expect(found.message).toMatch(
      /^F9, once it has blown, stands across 300 V .*rated 250 V, over by 20 %\./,
    );
  });

  it.each([
    ["wire of 230 V", "wire W2 230V", KEPT],
    ["wire of 229 V", "wire W2 229V", ["error mains/wire-insulation"]],
    ["cloth", "wire W2 600V cloth", ["warning mains/cloth-wire"]],
    ["cloth without a voltage", "wire W2 cloth", ["warning mains/cloth-wire"]],
    ["green-yellow", "wire W2 600V green-yellow", ["error mains/colour"]],
  ])("%s", (_, wire, expected) => {
    const way = `inA -- fuse F1 T315mA 250V -- fused\nfused -- switch S1 mains 250V 6A -- sw\nsw -- ${wire} -- live`;
    expect(told(example({ name: "Case", way }))).toEqual(expected);
  });
});

describe("primary and supply", () => {
  it.each([
    ["224 V on 230", wound("224V"), KEPT],
    ["223 V on 230", wound("223V"), ["warning mains/primary-voltage"]],
    ["240 V on 230", wound("240V"), KEPT],
    ["242 V on 230", wound("242V"), KEPT],
    ["243 V on 230", wound("243V"), ["warning mains/primary-voltage"]],
    ["240 V on 240", wound("240V", "mains 240 V 50 Hz AU"), KEPT],
    ["230 V on 240", wound("230V", "mains 240 V 50 Hz AU"), ["warning mains/primary-voltage"]],
  ])("%s", (_, text, expected) => {
    expect(told(text)).toEqual(expected);
  });

  const us117 = (volts: number) => us("").replace("primary 120V", `primary ${volts}V`);
  it("passes 117 V on 120 V, not 115 V", () => {
    expect(told(us117(117))).toEqual(KEPT);
    expect(told(us117(115))).toEqual(["warning mains/primary-voltage"]);
  });

  it("tells what the secondaries come to", () => {
    const [found] = findingsOf(wound("220V", "mains 240 V 50 Hz AU"));
    expect(found.message).toContain("up by 9 % (heater 6.87 V for 6.3 V)");
  });

  it("looks at the tap that the mains stands on, and passes a selector that has one to suit", () => {
    const tapped = (way: string, nets: string) =>
      example({
        name: "Case",
        way: `inA -- fuse F1 T315mA 250V -- fused\nfused -- switch S1 mains 250V 6A -- live\n${way}`,
        transformer: `transformer T1 40VA {\n  primary 0-115-230V 30R { ${nets} }\n  heater 6.3V 5A { h1 gnd }\n}`,
      });
    expect(told(tapped("", "inN t115 live"))).toEqual(KEPT);
    // 115 V of it on 230 V: past a tenth no heater's rating holds.
    expect(told(tapped("", "inN live t230"))).toContain("error mains/primary-voltage");
    expect(
      told(tapped("switch S2 selector spdt 250V 6A { common: live, 1: t230, 2: t115 }", "inN t115 t230")),
    ).toEqual(KEPT);
  });
});

describe("fuse value", () => {
  // 40 VA at 230 V: 174 mA rated. 2.5 times is 435 mA, the next IEC 60127 value 500 mA; 5 times 870 mA, the next 1 A.
  it.each([
    ["250 mA", fused("T250mA 250V"), KEPT],
    ["500 mA", fused("T500mA 250V"), KEPT],
    ["630 mA", fused("T630mA 250V"), ["warning mains/fuse-value"]],
    ["1 A", fused("T1A 250V"), ["warning mains/fuse-value"]],
    ["1.25 A", fused("T1.25A 250V"), ["error mains/fuse-value"]],
    ["125 mA", fused("T125mA 250V"), ["error mains/fuse-value"]],
    ["fast", fused("F315mA 250V"), ["warning mains/fuse-value"]],
  ])("%s", (_, text, expected) => {
    expect(told(text)).toEqual(expected);
  });

  it("offers the value that suits, and it does", () => {
    for (const fact of ["T5A 250V", "T125mA 250V", "F315mA 250V"]) {
      const [found] = findingsOf(fused(fact));
      expect(found.fix?.edits.map((edit) => edit.text)).toEqual([fact.startsWith("F") ? "T315mA" : "T250mA"]);
    }
  });

  it("holds the fuse against the cord too", () => {
    const thin = example({
      name: "Case",
      cord: "inlet J9 400mA {\n  active: inA\n  neutral: inN\n  earth: inE\n}",
      way: "inA -- fuse F1 T500mA 250V -- fused\nfused -- switch S1 mains 250V 6A -- live",
    });
    expect(told(thin)).toEqual(["error mains/fuse-value"]);
  });
});

describe("mains/cord-rating", () => {
  const cord = (facts: string) =>
    example({
      name: "Case",
      cord: `cord W1 ${facts} anchored {\n  active: inA 60mm brown\n  neutral: inN 60mm blue\n  earth: inE 110mm green-yellow\n}`,
    });

  // IEC 62368-1 annex G.7, from memory: no mains cord is thinner than 0.5 mm².
  it.each([
    ["0.5mm2 3A", []],
    ["0.49mm2 3A", ["error mains/cord-rating"]],
    ["0.2mm2 10A", ["error mains/cord-rating"]],
  ])("a cord of %s", (facts, expected) => {
    expect(told(cord(facts)).filter((one) => one.includes("cord-rating"))).toEqual(expected);
  });

  // AS/NZS 3191, from memory: 7.5 A by 0.75 mm².
  it.each([
    [10, 0.75, 7.5],
    [5, 0.75, 5],
    [undefined, 0.75, 7.5],
    [10, undefined, 10],
  ])("of %s A written and %s mm² carries %s A", (amps, area, carries) => {
    const given = (value: number | undefined, by = 1) =>
      value === undefined ? undefined : { value: value * by, origin: "file" as const };
    const entry = { kind: "cord", amps: given(amps), squareMetres: given(area, 1e-6), leads: new Map() };
    expect(entryAmps(entry as unknown as Parameters<typeof entryAmps>[0], "AU")?.amps).toBe(carries);
  });
});
