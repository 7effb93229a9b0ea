import { describe, expect, it } from "vitest";
import { findingsOf, told, uncheckedOf } from "../mains/told.ts";

const text = (more: string) => `amp "Case"
source B1 300V { plus: HT1, minus: gnd }
HT1 -- resistor R1 470k 1W 500V -- p1
p1 -- resistor R2 470k 1W 500V -- gnd
${more}
`;

describe("nets named once", () => {
  const SINGLE = "warning circuit/single-use-net";
  it.each([
    ["a slip", "p1 -- resistor R3 1M 0.5W 350V -- gdn", [SINGLE]],
    ["gnd and chassis are excepted", "p1 -- capacitor C1 22n 630V film -- chassis", []],
    ["a net joined by a terminal written elsewhere", "R1.b -- resistor R3 1M 0.5W 350V -- gnd", []],
    [
      "unused taps",
      "output-transformer T2 20W {\n  plates 8k { HT1 p1 }\n  speaker 4R-8R-16R { gnd s4 s8 s16 }\n}\ns8 -- speaker LS1 8R 20W -- gnd",
      [],
    ],
    [
      "an unused winding",
      "transformer T1 20VA {\n  heater 6.3V 2A { h1 gnd }\n  spare 5V 2A { x1 x2 }\n}\nh1 -- lamp LP1 6.3V 1A -- gnd",
      [],
    ],
    [
      "one end of a winding",
      "transformer T1 20VA {\n  heater 6.3V 2A { h1 h2 }\n}\nh1 -- lamp LP1 6.3V 1A -- gnd",
      [SINGLE],
    ],
    [
      "the middle of an output transformer's plates",
      "output-transformer T2 20W {\n  plates 8k { p1 HTO p2 }\n  speaker 8R { spk gnd }\n}\nspk -- speaker LS1 8R 20W -- gnd\np2 -- resistor R3 1M 0.5W 350V -- gnd",
      [SINGLE],
    ],
    [
      "screen taps that nobody uses",
      "output-transformer T2 20W {\n  plates 8k 43% { p1 uA HT1 uB p2 }\n  speaker 8R { spk gnd }\n}\nspk -- speaker LS1 8R 20W -- gnd\np2 -- resistor R3 1M 0.5W 350V -- gnd",
      [],
    ],
    ["metal", "metal panel\npanel -- bond E1 -- chassis", []],
    [
      "an argument of use",
      "block load(top) {\n  top -- resistor R1 1M 0.5W 350V -- gnd\n}\nuse load(p1) as A",
      [],
    ],
    [
      "a net inside a block",
      "block load(top) {\n  top -- resistor R1 1M 0.5W 350V -- mid\n}\nuse load(p1) as A\nuse load(p1) as B",
      [SINGLE],
    ],
  ])("%s", (_, more, expected) => {
    expect(told(text(more)).filter((line) => line.includes("single-use"))).toEqual(expected);
  });

  it("offers the near name, tried first", () => {
    const [found] = findingsOf(text("P1 -- resistor R3 1M 0.5W 350V -- gnd")).filter(({ rule }) =>
      rule.endsWith("single-use-net"),
    );
    expect(found.message).toContain("Meant: p1?");
    expect(found.fix?.edits[0].text).toBe("p1");
  });
  it("offers no other name of two letters, which are half another name", () => {
    const [found] = findingsOf(text("q1 -- resistor R3 1M 0.5W 350V -- gnd")).filter(({ rule }) =>
      rule.endsWith("single-use-net"),
    );
    expect(found.message).not.toContain("Meant");
  });
  it("does not offer a net that the part already sits on", () => {
    const [found] = findingsOf(text("p1 -- resistor R3 1M 0.5W 350V -- p2")).filter(({ rule }) =>
      rule.endsWith("single-use-net"),
    );
    expect(found.message).not.toContain("Meant");
  });
});

describe("what stands nowhere", () => {
  it("is told as unchecked: a file without parts, and a circuit without common", () => {
    expect(uncheckedOf('amp "Nothing yet"\n')).toContain("circuit: anything at all (no part is written)");
    const floating = "A -- source S1 100V -- B\nA -- resistor R1 10k 5W -- B\n";
    const told = "circuit: volts against common (no net is called gnd or chassis: it all floats)";
    expect(uncheckedOf(floating)).toContain(told);
    expect(uncheckedOf(floating.replaceAll("B", "gnd"))).not.toContain(told);
  });
});

describe("nets without a dc path", () => {
  const FLOATS = "warning circuit/no-dc-path";
  it.each([
    [
      "between two capacitors",
      "p1 -- capacitor C1 22n 630V film -- mid -- capacitor C2 22n 630V film -- gnd",
      [FLOATS],
    ],
    ["with a resistor", "p1 -- capacitor C1 22n 630V film -- mid -- resistor R3 1M 0.5W 350V -- gnd", []],
    [
      "an island of parts",
      "p1 -- capacitor C1 22n 630V film -- a -- resistor R3 1M 0.5W 350V -- b -- capacitor C2 22n 630V film -- gnd",
      [FLOATS],
    ],
    [
      "a loudspeaker winding that floats",
      "output-transformer T2 20W {\n  plates 8k { HT1 p1 }\n  speaker 8R { s1 s2 }\n}\ns1 -- speaker LS1 8R 20W -- s2",
      [],
    ],
    [
      "a heater winding that floats",
      "transformer T1 20VA {\n  heater 6.3V 2A { h1 h2 }\n}\nh1 -- lamp LP1 6.3V 1A -- h2",
      [],
    ],
    [
      "two electrolytics in series (series-capacitors tells it)",
      "HT1 -- capacitor C1 47u 350V electrolytic -- mid -- capacitor C2 47u 350V electrolytic -- gnd",
      [],
    ],
  ])("%s", (_, more, expected) => {
    expect(told(text(more)).filter((line) => line.includes("no-dc-path"))).toEqual(expected);
  });
  it("is one finding for an island, with all its nets", () => {
    const more =
      "p1 -- capacitor C1 22n 630V film -- a -- resistor R3 1M 0.5W 350V -- b -- capacitor C2 22n 630V film -- gnd";
    const found = findingsOf(text(more)).filter(({ rule }) => rule === "circuit/no-dc-path");
    expect(found).toHaveLength(1);
    expect(found[0].on.slice(0, 2)).toEqual(["a", "b"]);
  });
});

describe("shorts", () => {
  const shorts = (more: string) => told(text(more)).filter((line) => line.includes("short"));
  it.each([
    ["a source by a wire", "HT1 -- wire W1 -- gnd", ["error circuit/short"]],
    [
      "a winding by two bonds",
      "transformer T1 20VA {\n  heater 6.3V 2A { gnd chassis }\n}\ngnd -- bond E1 -- chassis",
      ["error circuit/short"],
    ],
    [
      "half of a centre-tapped winding",
      "transformer T1 20VA {\n  ht 250-0-250V 50mA { a gnd gnd }\n}\na -- diode D1 1N4007 -- HT1",
      ["error circuit/short"],
    ],
    ["a resistor", "p1 -- resistor R3 1M 0.5W 350V -- p1", ["warning circuit/short"]],
    [
      "a capacitor by a wire",
      "p1 -- capacitor C1 22n 630V film -- x\nx -- wire W1 -- p1",
      ["warning circuit/short"],
    ],
    [
      "a heater",
      "valve V1 ECC83 { heater: h1 h1 }\nh1 -- resistor R9 1M 0.5W 350V -- gnd",
      ["error circuit/short"],
    ],
    ["a pot as a variable resistor", "pot R3 1M linear { top: p1, wiper: p1, bottom: gnd }", []],
    [
      "a part that a switch shorts",
      "p1 -- resistor R3 10k 0.5W 350V -- q -- resistor R4 470k 0.5W 350V -- gnd\np1 -- switch S1 bright 250V 1A -- q",
      [],
    ],
    ["gnd and chassis bonded", "gnd -- bond E1 -- chassis", []],
  ])("%s", (_, more, expected) => {
    expect(shorts(more)).toEqual(expected);
  });
  it("leads what cannot be solved because of it", () => {
    const rules = findingsOf(text("HT1 -- wire W1 -- gnd")).map(({ rule }) => rule);
    expect(rules).toContain("circuit/short");
    expect(rules).not.toContain("circuit/not-solved");
  });
});

describe("terminals left out", () => {
  it.each([
    ["one end", "resistor R3 1M 0.5W 350V { a: p1 }", ["R3"]],
    ["a bridge's minus", "bridge BR1 400V 5A { ac1: p1, ac2: gnd, plus: HT1 }", ["BR1"]],
    ["a cathode", "valve V1.a ECC83 { plate: p1, grid: gnd }", ["V1"]],
    ["a screen", "valve V1 EL84 { plate: p1, grid: gnd, cathode: gnd }", ["V1"]],
    ["a sleeve", "jack J1 { tip: p1 }", ["J1"]],
    ["nothing", "valve V1.a ECC83 { plate: p1, grid: gnd, cathode: gnd }", []],
    ["a wiper and one end", "pot R3 1M linear { top: p1, wiper: gnd }", []],
    ["half of a rectifier", "valve V1 EZ81 { plate1: p1, cathode: HT1 }", []],
  ])("%s", (_, more, expected) => {
    const found = findingsOf(text(more)).filter(({ rule }) => rule === "circuit/unconnected");
    expect(found.map((finding) => finding.on[0])).toEqual(expected);
  });
});

describe("what a tone switch leaves alone in one position", () => {
  it("has its path in another: nothing is told", () => {
    const more = `p1 -- resistor R3 1M 0.5W 350V -- gnd
switch S1 tone spdt centre-off 50V 100mA { common: p1, 1: ta, 2: tb }
ta -- capacitor C1 470p 500V mica -- v
tb -- capacitor C2 1n 500V ceramic -- v
v -- resistor R4 1M 0.5W 350V -- gnd`;
    expect(findingsOf(text(more)).filter(({ rule }) => rule === "circuit/no-dc-path")).toEqual([]);
    // Without the switch the same capacitor hangs on nothing.
    const cut = more.replace(", 2: tb", "").concat("\ntb -- capacitor C3 1n 500V ceramic -- p1");
    expect(findingsOf(text(cut)).filter(({ rule }) => rule === "circuit/no-dc-path")).toHaveLength(1);
  });
});

describe("a tone stack behind a coupling capacitor", () => {
  it("is remarked on, where two capacitors alone are warned of", () => {
    const stack = `p1 -- capacitor C1 22n 630V film -- t
t -- resistor R3 100k 0.5W 350V -- ts
t -- capacitor C2 250p 500V mica -- tt
ts -- capacitor C3 100n 400V film -- tb
ts -- capacitor C4 47n 400V film -- tm
pot P1 250k linear { top: tt, wiper: v, bottom: tb }
pot P2 250k audio { top: tb, wiper: tm, bottom: tm }
tm -- resistor R4 6k8 0.5W -- gnd
v -- resistor R5 1M 0.5W 350V -- gnd`;
    const severities = (more: string) =>
      findingsOf(text(more))
        .filter(({ rule }) => rule === "circuit/no-dc-path")
        .map(({ severity }) => severity);
    expect(severities(stack)).toEqual(["advice"]);
    expect(
      severities("p1 -- capacitor C1 22n 630V film -- mid -- capacitor C2 22n 630V film -- gnd"),
    ).toEqual(["warning"]);
  });
});
