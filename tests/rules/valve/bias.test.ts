/** What is told of a valve's bias: pulled up, next to none left, and the ends of a trimmer. */
import { describe, expect, it } from "vitest";
import { analysisOf, told } from "../limits.ts";

const preamp = (more: string) => `source B1 300V { plus: HT, minus: gnd }
valve V1 ECC83 {
  a { plate: p1, grid: g1, cathode: k1 }
  b { plate: p2, grid: g2, cathode: k2 }
}
HT -- resistor R5 100k 1W -- p1
HT -- resistor R7 100k 1W -- p2
k1 -- resistor R6 1k5 0.5W -- gnd
k2 -- resistor R8 1k5 0.5W -- gnd
g1 -- resistor R1 1M 0.5W -- gnd
${more}`;

describe("valve/bias-missing: a grid that is pulled up", () => {
  const of = (more: string) =>
    told(preamp(more), "valve/bias-missing", "V1").map((finding) => finding.message);

  it.each([
    ["the leak from the HT", "g2 -- resistor R2 1M 0.5W -- HT", /R2 pulls it up, from HT \(300 V\)/],
    [
      "a leak beside the right one",
      "g2 -- resistor R2 470k 0.5W -- gnd\ng2 -- resistor R9 2M2 0.5W -- HT",
      /R9 pulls it up/,
    ],
    [
      "a wire for the coupling capacitor",
      "p1 -- wire W1 -- g2\ng2 -- resistor R2 1M 0.5W -- gnd",
      /Direct volts come to it from V1\.a's plate/,
    ],
    [
      "the same behind a stopper",
      "p1 -- wire W1 -- x\nx -- resistor R2 1M 0.5W -- gnd\nx -- resistor R9 10k 0.5W -- g2",
      /from V1\.a's plate \([\d.]+ V\) by R9/,
    ],
    [
      "a volume pot on the plate itself",
      "pot P1 1M audio 0.25W { top: p1, wiper: g2, bottom: gnd }",
      /from V1\.a's plate \([\d.]+ V\) by P1/,
    ],
  ])("%s is told with what does it", (_, more, words) => {
    const messages = of(more);
    expect(messages).toHaveLength(1);
    expect(messages[0]).toMatch(
      /V1\.b runs without bias: its grid stands [\d.]+ m?V above its cathode at idle/,
    );
    expect(messages[0]).toMatch(words);
  });

  it("is quiet on a follower that the plate ahead holds, and on a stage with its capacitor", () => {
    expect(of("p1 -- capacitor C1 22n 400V film -- g2\ng2 -- resistor R2 1M 0.5W -- gnd")).toEqual([]);
    const follower = `source B1 300V { plus: HT, minus: gnd }
valve V1 ECC83 {
  a { plate: p1, grid: g1, cathode: k1 }
  b { plate: HT, grid: p1, cathode: k2 }
}
HT -- resistor R5 100k 1W -- p1
k1 -- resistor R6 1k5 0.5W -- gnd
k2 -- resistor R8 56k 1W -- gnd
g1 -- resistor R1 1M 0.5W -- gnd
`;
    expect(told(follower, "valve/bias-missing", "V1")).toEqual([]);
  });

  it("is quiet on a follower behind a resistor, with a clamp diode from grid to cathode", () => {
    const text = `source B1 300V { plus: HT, minus: gnd }
valve V1 ECC83 {
  a { plate: p1, grid: g1, cathode: k1 }
  b { plate: HT, grid: g2, cathode: k2 }
}
HT -- resistor R5 100k 1W -- p1
k1 -- resistor R6 1k5 0.5W -- gnd
p1 -- resistor R9 100k 0.5W -- g2
g2 -- diode D1 1N4007 -- k2
k2 -- resistor R8 47k 1W -- gnd
g1 -- resistor R1 1M 0.5W -- gnd
`;
    expect(told(text, "valve/bias-missing", "V1")).toEqual([]);
  });

  it("names the diode of a bias supply that is the wrong way round", () => {
    const text = `transformer T1 20VA {
  primary 230V 90R { a b }
  bias    40V 50mA 20R { x gnd }
}
source B1 300V { plus: HT, minus: gnd }
HT -- resistor R4 1k 3W -- s
HT -- resistor R5 100R 5W -- p
x -- diode D1 1N4007 -- n
n -- capacitor C1 47u 100V electrolytic -- gnd
valve V1 6L6GC { plate: p, screen: s, grid: g, cathode: gnd }
g -- resistor R1 47k 0.5W -- n
`;
    const [found] = told(text, "valve/bias-missing", "V1");
    expect(found.message).toMatch(/Its bias supply is positive: n \([\d.]+ V\)\. D1 is the wrong way round/);
  });

  it("names neither a clamp nor an unused section, which stand on common, for a supply that is the wrong way round", () => {
    const text = `transformer T1 20VA {
  primary 230V 90R { a b }
  bias    40V 50mA 20R { x gnd }
}
source B1 300V { plus: HT, minus: gnd }
HT -- resistor R4 1k 3W -- s
HT -- resistor R5 100R 5W -- p
gnd -- diode D9 1N4007 -- n
x -- diode D1 1N4007 -- m
m -- resistor R6 1k 1W -- n
n -- capacitor C1 47u 100V electrolytic -- gnd
n -- resistor R7 47k 1W -- gnd
valve V1 6L6GC { plate: p, screen: s, grid: g, cathode: gnd }
valve V2 ECC83 { b { plate: gnd, grid: gnd, cathode: gnd } }
g -- resistor R1 47k 0.5W -- n
`;
    const [found] = told(text, "valve/bias-missing", "V1");
    expect(found.message).toContain("D1 is the wrong way round");
    expect(found.message).not.toMatch(/D9|V2/);
    // With nothing to feed it, no plate is at fault either.
    const [open] = told(text.replace(/x -- diode D1.*\n/, ""), "valve/bias-missing", "V1");
    expect(open.message).not.toMatch(/D9|V2/);
  });

  it("names no cathode resistor where the cathode is on common", () => {
    const text = `source B1 300V { plus: HT, minus: gnd }
HT -- resistor R4 1k 3W -- s
HT -- resistor R5 100R 5W -- p
valve V1 6L6GC { plate: p, screen: s, grid: g, cathode: gnd }
g -- resistor R1 47k 0.5W -- gnd
`;
    const [found] = told(text, "valve/bias-missing", "V1");
    expect(found.message).toContain("No negative supply comes to the grid");
    expect(found.related.map((entry) => entry.message).join()).not.toContain("cathode's lead");
  });
});

const pair = (bias: string, more = "") => `source B1 400V { plus: HT, minus: gnd }
${bias}
HT -- resistor R4 1k 5W wirewound -- s1
HT -- resistor R5 1k 5W wirewound -- s2
valve V1 EL34 { plate: pA, screen: s1, grid: g1, cathode: gnd, suppressor: gnd }
valve V2 EL34 { plate: pB, screen: s2, grid: g2, cathode: gnd, suppressor: gnd }
g1 -- resistor R1 100k 0.5W -- nB
g2 -- resistor R2 100k 0.5W -- nB
output-transformer T1 50W {
  plates  3k4 80R { pA HT pB }
  speaker 8R 0.5R { spk gnd }
}
spk -- speaker LS1 8R 60W -- gnd
${more}`;

describe("valve/bias-cold", () => {
  const fixed = (volts: number) => pair(`source B2 ${volts}V { plus: gnd, minus: nB }`);

  it("holds an EL34 to 15 % of its 25 W, as computed", () => {
    const watts = (volts: number) =>
      analysisOf(fixed(volts)).solution("idle", "nominal")?.readings.get("V1.plate")?.watts ?? Number.NaN;
    let [warm, cold] = [25, 60];
    for (let step = 0; step < 40; step++) {
      const middle = (warm + cold) / 2;
      if (watts(middle) > 3.75) warm = middle;
      else cold = middle;
    }
    expect(told(fixed(warm - 0.01), "valve/bias-cold", "V1")).toEqual([]);
    const [found] = told(fixed(cold + 0.01), "valve/bias-cold", "V1");
    expect(found.severity).toBe("advice");
    expect(found.value).toBeCloseTo(3.75, 1);
    expect(found.limit).toBeCloseTo(3.75, 6);
    expect(found.message).toContain("V2 the same");
  });

  it("tells a valve that is cut off altogether without figures of nothing", () => {
    const [found] = told(fixed(90), "valve/bias-cold", "V1");
    expect(found.severity).toBe("warning");
    expect(found.message).toMatch(/biased to cut-off: its plate draws next to nothing at 400 V/);
    expect(found.message).not.toMatch(/0\.0000|e-/);
  });

  const trimmer = (setting: string) =>
    pair(
      "source B2 60V { plus: gnd, minus: n0 }",
      `pot P1 25k linear 0.5W ${setting} { top: n0, wiper: nB, bottom: n1 }
n1 -- resistor R8 27k 0.5W -- gnd
nB -- resistor R9 220k 0.5W -- n0
`,
    );
  it("is quiet where the file does not say how the trimmer stands, and it can be turned warm", () => {
    expect(told(trimmer(""), "valve/bias-cold", "V1")).toEqual([]);
    const [found] = told(trimmer("at 95%"), "valve/bias-cold", "V1");
    expect(found.message).toMatch(
      /Turn P1 the warm way, measuring the current: at the end of the travel it is [\d.]+ W/,
    );
  });

  it("is quiet on the sheet's class B row of an EL84: 300 V, 2 x 7.5 mA (Philips, from memory)", () => {
    const text = `source B1 300V { plus: HT, minus: gnd }
source B2 14.7V { plus: gnd, minus: nB }
HT -- resistor R4 100R 1W -- s1
HT -- resistor R5 100R 1W -- s2
valve V1 EL84 { plate: pA, screen: s1, grid: nB, cathode: gnd }
valve V2 EL84 { plate: pB, screen: s2, grid: nB, cathode: gnd }
output-transformer T1 20W {
  plates  8k 80R { pA HT pB }
  speaker 8R 0.5R { spk gnd }
}
spk -- speaker LS1 8R 60W -- gnd
`;
    expect(told(text, "valve/bias-cold", "V1")).toEqual([]);
  });
});

describe("the hot end of a bias trimmer", () => {
  const hot = pair(
    "source B2 60V { plus: gnd, minus: n0 }",
    `pot P1 25k linear 0.5W at 30% { top: n0, wiper: nB, bottom: n1 }
n1 -- resistor R8 2k2 0.5W -- gnd
nB -- resistor R9 220k 0.5W -- n0
`,
  );
  it.each([
    ["valve/plate-dissipation", "V1.plate"],
    ["valve/screen-dissipation", "V1.screen"],
    ["valve/cathode-current", "V1.cathode"],
  ])("%s is held there too, as it is with the pot turned so", (rule, key) => {
    const reading = rule === "valve/cathode-current" ? "amps" : "watts";
    const turned = analysisOf(hot.replace("at 30%", "at 0%"))
      .solution("idle", "nominal")
      ?.readings.get(key)?.[reading];
    const found = told(hot.replace("at 30%", "at 70%"), rule, "P1");
    expect(found).toHaveLength(1);
    expect(found[0].severity).toBe("advice");
    expect(found[0].value).toBeCloseTo(turned ?? Number.NaN, 3);
    expect(found[0].message).toContain("with P1 turned to the hot end");
  });
});

describe("valve/plate-screen-exchanged", () => {
  const rule = "valve/plate-screen-exchanged";
  const single = (
    plate: string,
    screen: string,
    plates = "5k 60mA 250R { pA HT }",
  ) => `source B1 260V { plus: HT, minus: gnd }
HT -- resistor R4 220R 2W -- s1
valve V1 EL84 { plate: ${plate}, screen: ${screen}, grid: g1, cathode: k1 }
g1 -- resistor R1 470k 0.5W -- gnd
k1 -- resistor R3 220R 5W wirewound -- gnd
output-transformer T1 8W {
  plates  ${plates}
  speaker 8R 0.5R { spk gnd }
}
spk -- speaker LS1 8R 15W -- gnd
`;
  it.each([
    ["as it should be", single("pA", "s1"), 0],
    ["exchanged", single("s1", "pA"), 1],
    ["exchanged behind a stopper", single("s1", "x").concat("x -- resistor R7 100R 1W -- pA\n"), 1],
    ["strapped as a triode", single("pA", "x").concat("x -- resistor R7 100R 1W -- pA\n"), 0],
    ["ultralinear", single("pA", "u", "5k 43% 250R { pA u HT }"), 0],
    ["ultralinear, exchanged", single("u", "pA", "5k 43% 250R { pA u HT }"), 1],
    ["both on the supply", single("HT", "s1"), 0],
  ])("%s", (_, text, count) => {
    const found = told(text, rule, "V1");
    expect(found).toHaveLength(count);
    for (const one of found) expect(one.severity).toBe("error");
  });
});

describe("valve/plate-grid-exchanged", () => {
  const rule = "valve/plate-grid-exchanged";
  const single = (plate: string, grid: string, more = "") => `source B1 250V { plus: HT, minus: gnd }
HT -- resistor R4 220R 2W -- s1
valve V1 EL84 { plate: ${plate}, screen: s1, grid: ${grid}, cathode: k1 }
g1 -- resistor R1 470k 0.5W -- gnd
k1 -- resistor R3 220R 5W wirewound -- gnd
output-transformer T1 8W {
  plates  5k 60mA 250R { pA HT }
  speaker 8R 0.5R { spk gnd }
}
spk -- speaker LS1 8R 15W -- gnd
${more}`;
  const driver = (plate: string) =>
    `valve V2 EL84 { plate: ${plate}, screen: s1, grid: g2, cathode: k2 }\ng2 -- resistor R5 470k 0.5W -- gnd\nk2 -- resistor R6 220R 5W wirewound -- gnd\n`;
  it.each([
    ["as it should be", single("pA", "g1"), 0],
    ["exchanged", single("g1", "pA"), 1],
    ["exchanged, its stopper with it", single("g1", "x", "x -- resistor R7 100R 0.5W -- pA\n"), 1],
    ["a grid driven straight from another plate's winding", single("HT", "pA", driver("pA")), 0],
    ["a plate on a supply and the grid on its leak", single("HT", "g1"), 0],
  ])("%s", (_, text, count) => {
    const found = told(text, rule, "V1");
    expect(found).toHaveLength(count);
    for (const one of found) expect(one.severity).toBe("error");
  });

  it("says which lead goes where, and leads what follows", () => {
    const [found] = told(single("g1", "pA"), rule, "V1");
    expect(found.message).toContain("plate to pA, grid to g1");
    expect(found.follows).toBeUndefined();
  });
});

describe("valve/heater-voltage: a heater that nothing feeds", () => {
  const text = (heater: string, other = "h1 gnd") => `transformer T1 20VA {
  primary 230V 90R { a b }
  heater  6.3V 1.5A 0.1R { h1 gnd }
}
valve V1 EL84 { heater: ${other} }
valve V2 EL84 { heater: ${heater} }
`;
  it("is told where another is fed, with its nets", () => {
    const [found] = told(text("x1 x2"), "valve/heater-voltage", "V2").filter(
      (one) => one.severity === "warning",
    );
    expect(found?.message).toMatch(
      /V2's heater stands between x1 and x2, where nothing feeds it, while V1's is fed/,
    );
  });
  it("is left unchecked where the file feeds none", () => {
    const none = text("x1 x2", "x1 x2");
    expect(told(none, "valve/heater-voltage", "V2").filter((one) => one.severity !== "unchecked")).toEqual(
      [],
    );
  });
});

describe("the bias of a directly heated valve", () => {
  // Its current leaves the filament at either end: the resistor from one of them to common biases it.
  const fed = (ends: string) => `transformer T1 60VA { primary 230V 15R { a b }, fil 7V 3A 0.15R { fa fb } }
bridge D1 50V 10A { ac1: fa, ac2: fb, plus: f0, minus: f9 }
f0 -- capacitor C1 10m 16V electrolytic -- f9
f0 -- resistor R1 2R2 15W wirewound -- f1
source B1 350V { plus: HT, minus: gnd }
valve V1 2A3 { plate: HT, grid: g, ${ends} }
g -- resistor R2 470k 0.5W -- gnd
f9 -- resistor R3 1k 15W wirewound -- gnd
`;
  const rule = "valve/grid-circuit-resistance";
  it.each(["filament: f1 f9", "filament: f9 f1", "filament: f1 f9, cathode: f9"])(
    "is cathode bias with dc on the filament, whichever end is its cathode: %s",
    (ends) => {
      // 0.5 MΩ with cathode bias, 50 kΩ with fixed: RCA's sheet of the 2A3.
      expect(told(fed(ends), rule, "V1")).toEqual([]);
      const [found] = told(fed(ends).replace("470k", "680k"), rule, "V1");
      expect(found.message).toContain("with cathode bias 500 kΩ");
    },
  );
});

describe("what sets a cathode's bias", () => {
  it("is the resistor that its current passes, not the humdinger that lifts the heaters to it; what would do is computed", () => {
    const text = `transformer T1 60VA { primary 230V 15R { a b }, lt 6.3V 1A 0.1R { h1 h2 } }
source B1 300V { plus: HT, minus: gnd }
valve V1 6V6GT { plate: HT, screen: s, grid: g, cathode: k, heater: h1 h2 }
HT -- resistor R1 1k 5W -- s
g -- resistor R2 100k 0.5W -- gnd
k -- resistor R3 220R 5W -- gnd
pot R4 100R linear 2W { top: h1, wiper: k, bottom: h2 }
`;
    const [found] = told(text, "valve/plate-dissipation", "V1");
    expect(found.related.map(({ on }) => on)).toContain("R3");
    expect(found.related.map(({ on }) => on)).not.toContain("R4");
    expect(found.message).toMatch(/R3 of \d+R instead of 220R/);
  });
});

describe("the grid's way to a back bias", () => {
  it("ends where the supply's return does: its winding is not named as in the way", () => {
    const text = `transformer T1 60VA { primary 230V 15R { l n }, ht 250-0-250V 80mA 100R { a neg b } }
valve V9 EZ81 { plate1: a, plate2: b, cathode: HT }
HT -- capacitor C1 32u 500V electrolytic -- gnd
gnd -- resistor R1 470R 5W -- neg
neg -- resistor R2 470k 0.5W -- g
valve V1 6V6GT { plate: HT, screen: s, grid: g, cathode: gnd }
HT -- resistor R3 1k 5W -- s
`;
    const [found] = told(text, "valve/grid-circuit-resistance", "V1");
    const on = found.related.map((entry) => entry.on);
    expect(on).toContain("R2");
    expect(on).not.toContain("T1");
  });
});
