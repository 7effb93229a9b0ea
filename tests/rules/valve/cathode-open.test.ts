import { describe, expect, it } from "vitest";
import { check } from "../../../server/check.ts";

const found = (text: string) => {
  const { findings } = check("cathode.ampnet", text);
  expect(findings.filter(({ rule }) => rule === "circuit/syntax")).toEqual([]);
  return findings;
};
const told = (text: string) => found(text).filter(({ rule }) => rule === "valve/cathode-open");

const supply = `amp "Cathodes"\nsource B1 300V { plus: HT, minus: gnd }\n`;
const out = `p1 -- capacitor C2 22n 400V film -- o1 -- resistor R8 470k 0.5W -- gnd
t1 -- capacitor C3 22n 400V film -- o2 -- resistor R9 470k 0.5W -- gnd
`;
const split = (leak: string, load: string): string => `${supply}HT -- resistor R1 47k 1W -- p1
valve V1 ECC83 { a { plate: p1, grid: g1, cathode: k1 } }
k1 -- resistor R2 1k5 0.5W -- t1
in -- resistor R4 1M 0.5W -- gnd
in -- capacitor C1 22n 400V film -- g1
${leak}
${out}${load}
`;
const pair = (tail: string): string => `${supply}HT -- resistor R1 100k 1W -- p1
HT -- resistor R2 100k 1W -- p2
valve V1 ECC83 { a { plate: p1, grid: g1, cathode: k }, b { plate: p2, grid: g2, cathode: k } }
k -- resistor R3 470R 1W -- t1
g1 -- resistor R4 1M 1W -- t1
g2 -- resistor R5 1M 1W -- t1
in -- capacitor C1 22n 400V film -- g1
in -- resistor R6 1M 1W -- gnd
g2 -- capacitor C4 100n 400V film -- gnd
${tail}
`;

describe("a cathode without a way to common", () => {
  it.each([
    ["whose grid's leak comes from below", "g1 -- resistor R3 1M 0.5W -- t1"],
    ["whose grid's leak goes to common", "g1 -- resistor R3 1M 0.5W -- gnd"],
    ["whose grid has a leak both ways", "g1 -- resistor R3 1M 0.5W -- t1\ng1 -- resistor R7 1M 0.5W -- gnd"],
  ])("is told once of a split load without its lower half, %s", (_, leak) => {
    const [finding, ...others] = told(split(leak, ""));
    expect(others).toEqual([]);
    expect(finding.message).toMatch(
      /^The cathode of V1\.a reaches circuit common through nothing that carries its current/,
    );
    expect(finding.message).toContain("A resistor from t1 to common is missing");
    expect(finding.on).toEqual(expect.arrayContaining(["V1", "V1.a.cathode", "k1", "t1", "C3"]));
    expect(told(split(leak, "t1 -- resistor R5 47k 1W 500V -- gnd"))).toEqual([]);
  });

  it("is told once of a long-tailed pair without its tail, ahead of what follows, and not as a dead supply", () => {
    const all = found(pair(""));
    const [finding, ...others] = all.filter(({ rule }) => rule === "valve/cathode-open");
    expect(others).toEqual([]);
    expect(finding.severity).toBe("error");
    expect(finding.message).toMatch(
      /^The cathodes of V1\.a and V1\.b reach .* from k there is only R4 and R5, which lead to their own grids/,
    );
    const grave = all.filter(({ severity }) => severity === "error" || severity === "warning");
    expect(grave.filter((entry) => entry !== finding && entry.follows === undefined)).toEqual([]);
    expect(told(pair("t1 -- resistor R7 47k 1W 500V -- gnd"))).toEqual([]);
  });

  it("names both of two on top of each other", () => {
    const cascode = (bottom: string) => `${supply}HT -- resistor R1 47k 1W -- p1
valve V1 ECC83 { a { plate: p1, grid: g1, cathode: m }, b { plate: m, grid: g2, cathode: k } }
HT -- resistor R2 1M 1W -- g1 -- resistor R3 470k 1W -- gnd
g2 -- resistor R4 1M 1W -- gnd
k -- capacitor C1 22u 25V electrolytic -- gnd
${bottom}
`;
    const [finding, ...others] = told(cascode(""));
    expect(others).toEqual([]);
    expect(finding.message).toContain("V1.a and V1.b");
    expect(told(cascode("k -- resistor R5 1k5 1W -- gnd"))).toEqual([]);
  });

  it.each([
    [
      "a negative supply below",
      "t1 -- resistor R7 47k 1W 500V -- nT\nsource B2 100V { plus: gnd, minus: nT }",
    ],
    ["a choke", "t1 -- choke L1 50H 10mA 3k -- gnd"],
    ["a diode", "t1 -- resistor R7 47k 1W 500V -- d\nd -- diode D1 1N4007 -- gnd"],
    [
      "another valve",
      "valve V2.a ECC83 { plate: t1, grid: g3, cathode: k3 }\ng3 -- resistor R7 1M 0.5W -- gnd\nk3 -- resistor R10 1k 0.5W -- gnd",
    ],
    ["a pot as a resistor", "pot R7 50k lin 1W { top: t1, wiper: gnd }"],
    [
      "a switch that opens it",
      "t1 -- resistor R7 47k 1W 500V -- s\nswitch S1 spdt { common: gnd, 1: s, 2: other }\nother -- resistor R10 1k 1W -- gnd",
    ],
    [
      "a switch whose other throw it is",
      "t1 -- resistor R7 47k 1W 500V -- s\nswitch S1 spdt { common: gnd, 1: other, 2: s }\nother -- resistor R10 1k 1W -- gnd",
    ],
    [
      "a jack that breaks it",
      "t1 -- resistor R7 47k 1W 500V -- s\njack J1 { tip: x, tip-break: s, sleeve: gnd }",
    ],
    ["the metalwork", "t1 -- resistor R7 47k 1W 500V -- chassis\ngnd -- bond E1 -- chassis"],
    [
      "a winding",
      "transformer T9 5VA { primary 230V 100R { a b }, fb 6V 1A 1R { w gnd } }\nt1 -- resistor R7 47k 1W 500V -- w",
    ],
  ])("is not told of a pair with %s", (_, tail) => {
    expect(told(pair(tail))).toEqual([]);
  });

  it("is not told where one valve stands on another whose plate its own grid is tied to", () => {
    expect(
      told(`${supply}valve V1 ECC83 { a { plate: HT, grid: m, cathode: k1 }, b { plate: m, grid: g2, cathode: k2 } }
k1 -- resistor R1 1k5 0.5W -- m
g2 -- resistor R2 1M 0.5W -- gnd
k2 -- resistor R3 1k5 0.5W -- gnd
`),
    ).toEqual([]);
  });

  it("is left to the slip of a name, and to a file without a common", () => {
    const slip = split("g1 -- resistor R3 1M 0.5W -- gnd", "").replace("cathode: k1", "cathode: kk");
    expect(told(slip)).toEqual([]);
    expect(found(slip).some(({ rule, on }) => rule === "circuit/single-use-net" && on.includes("kk"))).toBe(
      true,
    );
    expect(told(pair("").replaceAll("gnd", "zero"))).toEqual([]);
  });
});
