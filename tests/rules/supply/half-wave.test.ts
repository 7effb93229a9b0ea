import { describe, expect, it } from "vitest";
import { check } from "../../../server/check.ts";

const head = (ht: string): string => `amp "Halves"
mains 230 V 50 Hz
transformer T1 80VA {
  primary 230V 14R { l n }
  ht ${ht}
  heater 6.3V 3A { h1 gnd }
}
`;
const load = `HT -- capacitor C1 32u 600V electrolytic -- gnd
HT -- resistor R1 10k 30W wirewound 900V -- gnd
`;
const tapped = head("290-0-290V 120mA 110R { x gnd y }");
const plain = head("290V 120mA 110R { x y }");
const diode = (number: number, anode: string, cathode: string): string =>
  `diode D${number} 1N4007 { anode: ${anode}, cathode: ${cathode} }\n`;
const valve = (plates: string): string => `valve V5 EZ81 { ${plates}, cathode: HT, heater: h1 gnd }\n`;
const bridge = [diode(1, "x", "HT"), diode(2, "y", "HT"), diode(3, "gnd", "x"), diode(4, "gnd", "y")];
const bias = `gnd -- capacitor C3 47u 500V electrolytic -- nB\nnB -- resistor R3 47k 5W 500V -- gnd\n`;

const told = (text: string): readonly string[] => {
  const { findings } = check("halves.ampnet", text);
  expect(findings.filter(({ rule }) => rule === "circuit/syntax")).toEqual([]);
  return findings.filter(({ rule }) => rule === "supply/half-wave").map(({ message }) => message);
};

describe("a winding rectified on one half only", () => {
  it.each([
    ["a diode left out", tapped + diode(1, "x", "HT") + load, "A rectifier from y to HT is missing"],
    [
      "a diode that leads nowhere",
      tapped + diode(1, "x", "HT") + diode(2, "y", "HTx") + load,
      "D2 is on y and carries nothing",
    ],
    ["a plate not wired", tapped + valve("plate1: x") + load, "V5.plate2 is wired to nothing: join it to y"],
    ["a plate on a slip of a name", tapped + valve("plate1: x, plate2: yy") + load, "V5.plate2 is on yy"],
    ["both plates on one end", tapped + valve("plate1: x, plate2: x") + load, "Both plates of V5 are on x"],
    [
      "a diode left out beside a bias tap's",
      tapped + diode(1, "x", "HT") + diode(3, "nB", "x") + bias + load,
      "from y to HT",
    ],
    [
      "a supply with back bias",
      `${tapped.replace("x gnd y", "x m y") + diode(1, "x", "HT") + load}m -- resistor R7 100R 5W -- gnd\n`,
      "from y to HT",
    ],
    [
      "four nets",
      head("300-0-55-300V 120mA 110R { x gnd t y }") +
        diode(2, "y", "HT") +
        diode(3, "nB", "t") +
        bias +
        load,
      "from x to HT",
    ],
    ["two diodes in series", tapped + diode(1, "x", "q") + diode(5, "q", "HT") + load, "the ripple on HT"],
  ])("is told with %s", (_, text, words) => {
    const [message, ...others] = told(text);
    expect(others).toEqual([]);
    expect(message).toMatch(
      /^T1\.ht is rectified on one half only: .* 50 Hz, where full-wave it would be of 100 Hz/,
    );
    expect(message).toContain(words);
  });

  it.each([
    [0, "from x to HT"],
    [1, "from y to HT"],
    [2, "from gnd to x"],
    [3, "from gnd to y"],
  ])("is told of a bridge without its diode %i", (missing, words) => {
    expect(told(plain + bridge.join("") + load)).toEqual([]);
    const [message] = told(plain + bridge.filter((_, index) => index !== missing).join("") + load);
    expect(message).toContain(`The arm of its bridge ${words} is missing`);
  });

  it("is told of a bridge of a valve and two diodes, without one diode or one plate", () => {
    const low = bridge.slice(2).join("");
    expect(told(plain + valve("plate1: x, plate2: y") + low + load)).toEqual([]);
    expect(told(plain + valve("plate1: x, plate2: y") + bridge[2] + load)[0]).toContain("from gnd to y");
    expect(told(plain + valve("plate1: x") + low + load)[0]).toContain("from y to HT");
  });

  it("has the ripple twice as large as with both diodes", () => {
    // By hand: between two crests the reservoir loses I t / C, and t is twice as long.
    const ripple = (text: string) => {
      const { circuit, analysis } = check("halves.ampnet", text);
      const net = circuit.nets.find(({ name }) => name === "HT");
      return analysis.solution("idle", "nominal")?.ripple[net?.index ?? -1] ?? Number.NaN;
    };
    const half = ripple(tapped + diode(1, "x", "HT") + load);
    const full = ripple(tapped + diode(1, "x", "HT") + diode(2, "y", "HT") + load);
    expect(half / full).toBeGreaterThan(1.8);
    expect(half / full).toBeLessThan(2.4);
    expect(told(tapped + diode(1, "x", "HT") + load)[0]).toMatch(/ripple on HT \(2\d\.?\d* V\)/);
  });

  it("stays marked as its doing where the slip of a name is told", () => {
    const { findings } = check("halves.ampnet", tapped + valve("plate1: x, plate2: yy") + load);
    expect(findings.find(({ rule }) => rule === "supply/half-wave")?.follows).toBe("circuit/single-use-net");
    // A loose end of another winding is no cause of it.
    const loose = check("halves.ampnet", tapped + diode(1, "x", "HT") + load).findings;
    expect(loose.some(({ rule }) => rule === "circuit/single-use-net")).toBe(true);
    expect(loose.find(({ rule }) => rule === "supply/half-wave")?.follows).toBeUndefined();
  });

  it.each([
    ["both diodes", tapped + diode(1, "x", "HT") + diode(2, "y", "HT") + load],
    [
      "both, and a bias diode on one end",
      tapped + diode(1, "x", "HT") + diode(2, "y", "HT") + diode(3, "nB", "x") + bias + load,
    ],
    ["a half-wave supply with its end on common", plain.replace("x y", "x gnd") + diode(1, "x", "HT") + load],
    ["two diodes in series around a winding", plain + bridge[1] + bridge[2] + load],
    [
      "a middle that nothing is joined to and an end on common",
      tapped.replace("gnd y", "m gnd") + diode(1, "x", "HT") + load,
    ],
    [
      "a doubler",
      `${plain + diode(1, "x", "HT") + diode(2, "gnd", "x") + load}HT -- capacitor C8 47u 500V electrolytic -- y\ny -- capacitor C9 47u 500V electrolytic -- gnd\n`,
    ],
    [
      "a bridge that is strapped as a doubler",
      `${plain + bridge.join("") + load}HT -- capacitor C8 47u 500V electrolytic -- y\ny -- capacitor C9 47u 500V electrolytic -- gnd\n`,
    ],
    ["a bridge part", `${plain}bridge BR1 1000V 1A { ac1: x, ac2: y, plus: HT, minus: gnd }\n${load}`],
    [
      "a relay fed from a tapped heater winding",
      `${tapped.replace("6.3V 3A { h1 gnd }", "3.15-0-3.15V 3A { h1 gnd h2 }") + diode(1, "x", "HT") + diode(2, "y", "HT") + load}valve V1 ECC83 { heater: h1 h2 }\nh1 -- diode D9 1N4007 -- r\nr -- resistor R9 100R 1W -- gnd\n`,
    ],
  ])("is not told with %s", (_, text) => {
    expect(told(text)).toEqual([]);
  });
});

describe("two like windings in series, rectified as halves", () => {
  const two = (first: string, second: string): string => `amp "Halves"
mains 230 V 50 Hz
transformer T1 80VA {
  primary 230V 14R { l n }
  htA 290V 120mA 55R { ${first} }
  htB 290V 120mA 55R { ${second} }
  heater 6.3V 3A { h1 gnd }
}
`;
  const aiding = two("x gnd", "gnd y");

  it.each([
    ["a diode left out", aiding + diode(1, "x", "HT") + load, "A rectifier from y to HT is missing"],
    ["the other one left out", aiding + diode(2, "y", "HT") + load, "A rectifier from x to HT is missing"],
    ["written from the joint", two("gnd y", "x gnd") + diode(1, "x", "HT") + load, "from y to HT"],
    [
      "a joint that is lifted",
      `${two("x m", "m y") + diode(1, "x", "HT") + load}m -- resistor R7 100R 5W -- gnd\n`,
      "from y to HT",
    ],
    ["a plate on a slip of a name", aiding + valve("plate1: x, plate2: yy") + load, "V5.plate2 is on yy"],
  ])("are told with %s", (_, text, words) => {
    const [message, ...others] = told(text);
    expect(others).toEqual([]);
    expect(message).toMatch(/^T1\.ht[AB] and T1\.ht[AB], in series, are rectified on one half only: /);
    expect(message).toContain(words);
  });

  it("are told where they are joined by like ends", () => {
    const both = diode(1, "x", "HT") + diode(2, "y", "HT") + load;
    expect(told(two("x gnd", "y gnd") + both)).toEqual([
      expect.stringMatching(
        /^T1\.htA and T1\.htB are joined at gnd by like ends: both give their current \(\d+\.?\d* mA together\) in the same half of the cycle.* 50 Hz\. Exchange the two ends of T1\.htB\.$/,
      ),
    ]);
  });

  it.each([
    ["both diodes", aiding + diode(1, "x", "HT") + diode(2, "y", "HT") + load],
    [
      "the second for a negative supply",
      `${aiding + diode(1, "x", "HT") + load + diode(2, "nB", "y")}${bias}`,
    ],
    [
      "a bridge around both",
      `${two("x m", "m y")}bridge BR1 1000V 1A { ac1: x, ac2: y, plus: HT, minus: gnd }\n${load}`,
    ],
    [
      "both side by side",
      `${two("x y", "x y")}bridge BR1 1000V 1A { ac1: x, ac2: y, plus: HT, minus: gnd }\n${load}`,
    ],
  ])("are not told with %s", (_, text) => {
    expect(told(text)).toEqual([]);
  });
});
