/** The protective path: each limit just kept and just passed, and arrangements as they are met. */
import { describe, expect, it } from "vitest";
import { example } from "../../../server/rules/mains/example.ts";
import { findingsOf, told, uncheckedOf } from "../mains/told.ts";

const LAMP = "h1 -- lamp LP1 6.3V 5A -- gnd";
const earth = (lines: string, more = "") => example({ name: "Case", earth: lines, rest: `${LAMP}\n${more}` });
const cord = (text: string, mains?: string) => example({ name: "Case", mains, cord: text });
const leads = (active: string, neutral: string, earthLead: string, facts = "1.0mm2 anchored") =>
  `cord W1 ${facts} {\n  active:  inA ${active} brown\n  neutral: inN ${neutral} blue\n  earth:   inE ${earthLead} green-yellow\n}`;
const OWN = "inE -- bond E1 own-fixing -- chassis";

describe("protective earth", () => {
  it.each([
    ["bonded", earth(`${OWN}\ngnd -- bond E2 -- chassis`), []],
    ["core that ends nowhere", earth("gnd -- bond E2 -- chassis"), ["error earth/missing"]],
    [
      "core on the chassis itself",
      example({
        name: "Case",
        cord: leads("60mm", "60mm", "110mm").replace("inE", "chassis"),
        earth: "gnd -- bond E2 -- chassis",
      }),
      [],
    ],
    [
      "over a wire and a lug",
      earth(
        "inE -- wire W5 1.0mm2 50mm green-yellow -- lug\nlug -- bond E1 own-fixing -- chassis\ngnd -- bond E2 -- chassis",
      ),
      [],
    ],
    [
      "by the bolt of a transformer, whose frame is bonded on",
      earth(
        "metal frame\ninE -- bond E1 shared-fixing -- frame\nframe -- bond E5 own-fixing -- chassis\ngnd -- bond E2 -- chassis",
      ),
      ["error earth/own-fixing"],
    ],
    [
      "by a panel that has its own fixing, bonded on by one that is shared",
      earth(
        "metal panel\ninE -- bond E1 own-fixing -- panel\npanel -- bond E5 shared-fixing -- chassis\ngnd -- bond E2 -- chassis",
      ),
      ["error earth/own-fixing"],
    ],
    [
      "by a panel, each with its own",
      earth(
        "metal panel\ninE -- bond E1 own-fixing -- panel\npanel -- bond E5 own-fixing -- chassis\ngnd -- bond E2 -- chassis",
      ),
      [],
    ],
    [
      "through a fuse",
      earth(
        "inE -- fuse F9 T10A 250V -- lug\nlug -- bond E1 own-fixing -- chassis\ngnd -- bond E2 -- chassis",
      ),
      ["error earth/switched"],
    ],
    [
      "through a switch",
      earth(
        "inE -- bond E1 own-fixing -- lug\nlug -- switch S9 lift 250V 6A -- chassis\ngnd -- bond E2 -- chassis",
      ),
      ["error earth/switched"],
    ],
    [
      "through two diodes",
      earth(
        "inE -- diode D8 1N5408 -- chassis\nchassis -- diode D9 1N5408 -- inE\ngnd -- bond E2 -- chassis",
      ),
      ["error earth/switched"],
    ],
    [
      "a resistor beside a bond",
      earth(`${OWN}\ngnd -- bond E2 -- chassis\ngnd -- resistor R9 10R 5W -- chassis`),
      ["advice earth/common-lift"],
    ],
  ])("%s", (_, text, expected) => {
    expect(told(text).filter((line) => line.includes("earth/"))).toEqual(expected);
  });

  it("names the way", () => {
    const [found] = findingsOf(
      earth(
        "inE -- bond E1 own-fixing -- lug\nlug -- switch S9 lift 250V 6A -- chassis\ngnd -- bond E2 -- chassis",
      ),
    );
    expect(found.message).toContain("earth -> E1 -> lug -> S9 -> chassis");
    expect(found.on).toEqual(["S9", "chassis"]);
  });

  it("takes the slip of a net that ends nowhere as one finding", () => {
    const found = findingsOf(earth("gnd -- bond E2 -- chassis"));
    expect(found.map((finding) => finding.rule)).toEqual(["earth/missing"]);
    expect(found[0].related.some((related) => related.message.includes("inE is named only here"))).toBe(true);
  });

  it("finds a two-core cord on a metal chassis, and asks where no metal is named", () => {
    const two = "cord W1 1.0mm2 anchored {\n  active:  inA 60mm brown\n  neutral: inN 60mm blue\n}";
    expect(told(example({ name: "Case", cord: two, earth: "gnd -- bond E2 -- chassis" }))).toEqual([
      "error earth/missing",
    ]);
    const bare = example({ name: "Case", cord: two, earth: "" });
    expect(told(bare)).toEqual([]);
    expect(uncheckedOf(bare)).toContain("W1: the protective earth (the file names no chassis)");
    expect(told(`${bare}jack J1 { tip: h1, sleeve: gnd }\n`)).toEqual(["error earth/missing"]);
  });
});

describe("a fixing of its own (IEC 60204-1 8.2.4)", () => {
  it.each([
    [
      "shared",
      "inE -- bond E1 shared-fixing -- chassis\ngnd -- bond E2 -- chassis",
      ["error earth/own-fixing"],
    ],
    ["a second bond on the core", `${OWN}\ninE -- bond E3 -- gnd`, ["error earth/own-fixing"]],
    [
      "a second bond to a panel",
      `${OWN}\ngnd -- bond E2 -- chassis\nmetal panel\ninE -- bond E3 own-fixing -- panel`,
      ["error earth/own-fixing"],
    ],
    [
      "by way of circuit common",
      "inE -- bond E1 own-fixing -- gnd\ngnd -- bond E2 own-fixing -- chassis",
      ["error earth/own-fixing"],
    ],
    [
      "a capacitor on the core of a cord",
      `${OWN}\ngnd -- bond E2 -- chassis\nlive -- capacitor C1 2n2 Y2 250VAC ceramic -- inE`,
      ["error earth/own-fixing"],
    ],
    [
      "a second lead on a lug",
      "inE -- wire W5 1.0mm2 50mm -- lug\nlug -- bond E1 own-fixing -- chassis\ngnd -- wire W6 600V -- lug",
      ["error earth/own-fixing"],
    ],
  ])("%s", (_, lines, expected) => {
    expect(told(earth(lines))).toEqual(expected);
  });
  it("asks where the bond does not say", () => {
    const text = earth("inE -- bond E1 -- chassis\ngnd -- bond E2 -- chassis");
    expect(told(text)).toEqual([]);
    expect(uncheckedOf(text)).toContain("E1: whether the earth has a fixing of its own");
  });
});

describe("the longest core (IEC 60335-1 27.3)", () => {
  it.each([
    ["60", "60", "80", []],
    ["60", "60", "79", ["warning earth/longest"]],
    ["60", "60", "61", ["warning earth/longest"]],
    ["60", "60", "60", ["error earth/longest"]],
    ["60", "60", "50", ["error earth/longest"]],
    ["40", "90", "110", []],
    ["40", "100", "110", ["warning earth/longest"]],
    ["120", "60", "110", ["error earth/longest"]],
  ])("active %s mm, neutral %s mm, earth %s mm", (active, neutral, length, expected) => {
    expect(told(cord(leads(`${active}mm`, `${neutral}mm`, `${length}mm`)))).toEqual(expected);
  });
  it("asks for lengths that are not said, and never of an inlet", () => {
    const text = cord(leads("60mm", "", "110mm"));
    expect(told(text)).toEqual([]);
    expect(uncheckedOf(text)).toContain("W1: whether its earth is the longest (no length for neutral)");
    const inlet = cord("inlet J9 10A {\n  active: inA\n  neutral: inN\n  earth: inE\n}");
    expect(told(inlet)).toEqual([]);
    expect(uncheckedOf(inlet).some((line) => line.includes("longest"))).toBe(false);
  });
});

describe("cross-section (IEC 60364-5-54)", () => {
  it.each([
    ["equal", leads("60mm", "60mm", "110mm 1.0mm2"), []],
    ["thinner", leads("60mm", "60mm", "110mm 0.75mm2"), ["error earth/cross-section"]],
    ["thicker", leads("60mm", "60mm", "110mm 1.5mm2"), []],
    ["active thicker", leads("60mm 1.5mm2", "60mm", "110mm"), ["error earth/cross-section"]],
  ])("%s", (_, text, expected) => {
    expect(told(cord(text))).toEqual(expected);
  });
  it("looks at wires in the path too", () => {
    const way = (area: string) =>
      earth(
        `inE -- wire W5 ${area} 50mm -- lug\nlug -- bond E1 own-fixing -- chassis\ngnd -- bond E2 -- chassis`,
      );
    expect(told(way("0.5mm2"))).toEqual(["error earth/cross-section"]);
    expect(told(way("1.0mm2"))).toEqual([]);
  });
  it("holds the set's own wires behind an inlet to each other", () => {
    const behind = (active: string, area: string) =>
      cord("inlet J9 10A 250V { active: j1, neutral: inN, earth: j3 }").concat(
        `j1 -- wire W6 ${active} 60mm brown -- inA\nj3 -- wire W7 ${area} 110mm green-yellow -- inE\n`,
      );
    expect(told(behind("1.0mm2", "1.0mm2"))).toEqual([]);
    expect(told(behind("1.0mm2", "0.5mm2"))).toEqual(["error earth/cross-section"]);
    expect(uncheckedOf(behind("1.0mm2", "1.0mm2")).join()).not.toContain("cross-section");
    expect(uncheckedOf(behind("", "1.0mm2")).join()).toContain("cross-section");
  });
});

describe("metal that can be touched", () => {
  const whole = `${OWN}\ngnd -- bond E2 -- chassis`;
  const input = "in -- resistor R1 1M 0.5W 350V -- gnd";
  it.each([
    ["a panel without a bond", earth(whole, "metal panel"), ["error earth/floating-metal"]],
    ["a panel bonded", earth(whole, "metal panel\npanel -- bond E3 own-fixing -- chassis"), []],
    [
      "a panel by way of another",
      earth(whole, "metal panel\nmetal door\npanel -- bond E3 -- chassis\ndoor -- bond E4 -- panel"),
      [],
    ],
    [
      "a panel behind a resistor",
      earth(whole, "metal panel\npanel -- resistor R9 1R 5W -- chassis"),
      ["error earth/switched"],
    ],
    ["a jack that touches", earth(OWN, `jack J1 { tip: in, sleeve: gnd }\n${input}`), []],
    [
      "an insulated jack on a bonded common",
      earth(whole, `jack J1 insulated { tip: in, sleeve: gnd }\n${input}`),
      [],
    ],
    [
      "an insulated jack on a common that floats",
      earth(OWN, `jack J1 insulated { tip: in, sleeve: gnd }\n${input}`),
      ["error earth/floating-metal"],
    ],
  ])("%s", (_, text, expected) => {
    expect(told(text)).toEqual(expected);
  });
  it("tells several jacks on one floating common once", () => {
    const text = earth(
      OWN,
      `jack J1 insulated { tip: in, sleeve: gnd }\njack J2 insulated { tip: in, sleeve: gnd }\n${input}`,
    );
    expect(findingsOf(text).map((finding) => finding.on)).toEqual([["J1", "J2", "gnd"]]);
  });
});

describe("lifted common", () => {
  const R = "gnd -- resistor R9 10R 5W wirewound -- chassis";
  const bridge = (facts: string, joined = true) =>
    `bridge BR9 ${facts} { ac1: gnd, ac2: chassis, plus: lp, minus: ${joined ? "lp" : "lm"} }`;
  it.each([
    ["a resistor alone", R, ["error earth/common-lift"]],
    ["a capacitor alone", "gnd -- capacitor C9 100n 400V film -- chassis", ["error earth/common-lift"]],
    ["a bridge of 35 A", `${R}\n${bridge("400V 35A")}`, []],
    ["a bridge of 10 A", `${R}\n${bridge("400V 10A")}`, []],
    ["a bridge of 9 A", `${R}\n${bridge("400V 9A")}`, ["warning earth/common-lift"]],
    ["a bridge of 2 A", `${R}\n${bridge("400V 2A")}`, ["error earth/common-lift"]],
    ["a diode one way", `${R}\ngnd -- diode D8 400V 20A -- chassis`, ["error earth/common-lift"]],
    [
      "diodes both ways",
      `${R}\ngnd -- diode D8 400V 20A -- chassis\nchassis -- diode D9 400V 20A -- gnd`,
      [],
    ],
    [
      "two in series each way",
      `${R}\ngnd -- diode D5 400V 20A -- m1 -- diode D6 400V 20A -- chassis\nchassis -- diode D7 400V 20A -- m2 -- diode D8 400V 20A -- gnd`,
      [],
    ],
    [
      "small diodes by type",
      `${R}\ngnd -- diode D8 1N4007 -- chassis\nchassis -- diode D9 1N4007 -- gnd`,
      ["error earth/common-lift"],
    ],
    ["a switch that lifts", `${R}\ngnd -- switch S7 lift 250V 6A -- chassis`, ["error earth/common-lift"]],
    ["a bond beside it", `${R}\ngnd -- bond E2 -- chassis`, ["advice earth/common-lift"]],
    [
      "a jack that is not insulated beside it",
      `${R}\njack J7 { tip: t7, sleeve: gnd }\nt7 -- resistor R7 1M 0.5W -- gnd`,
      ["advice earth/common-lift"],
    ],
    [
      "a jack beside a capacitor against interference",
      "gnd -- capacitor C9 100n 400V film -- chassis\njack J7 { tip: t7, sleeve: gnd }\nt7 -- resistor R7 1M 0.5W -- gnd",
      [],
    ],
  ])("%s", (_, lines, expected) => {
    expect(told(earth(`${OWN}\n${lines}`))).toEqual(expected);
  });
  it("asks for the rating of a bridge that has none", () => {
    const text = earth(`${OWN}\n${R}\n${bridge("400V")}`);
    expect(told(text)).toEqual([]);
    expect(uncheckedOf(text).some((line) => line.startsWith("BR9:"))).toBe(true);
  });
});

describe("the safety record", () => {
  const read = (line: string, mains?: string) =>
    told(example({ name: "Case", mains, rest: `${LAMP}\n${line}` })).filter((entry) =>
      entry.includes("record"),
    );
  const bad = ["error earth/record"];
  it.each([
    // AS/NZS 3760: 1 Ω with the cord, 1 MΩ at 500 V, 5 mA for class I.
    ["measured earth-continuity 1R", "AU", []],
    ["measured earth-continuity 1.01R", "AU", bad],
    ["measured insulation 1M at 500V", "AU", []],
    ["measured insulation 990k at 500V", "AU", bad],
    ["measured earth-leakage 5mA", "AU", []],
    ["measured earth-leakage 5.1mA", "AU", bad],
    // EN 50699: 0.3 Ω. IEC 60950-1: 3.5 mA.
    ["measured earth-continuity 0.3R", "EU", []],
    ["measured earth-continuity 0.31R", "EU", bad],
    ["measured earth-leakage 3.6mA", "EU", bad],
    // ANSI C101: 0.5 mA.
    ["measured earth-leakage 0.5mA", "US", []],
    ["measured earth-leakage 0.6mA", "US", bad],
  ])("%s in %s", (line, code, expected) => {
    expect(read(line, `mains 230 V 50 Hz ${code}`)).toEqual(expected);
  });
  it("asks once for what was not measured", () => {
    const text = example({ name: "Case", rest: `${LAMP}\nmeasured insulation 50M at 500V` });
    expect(uncheckedOf(text)).toContain(
      "W1: the safety record (earth continuity and earth leakage not measured)",
    );
  });
});

it("a cord of an earth alone stops no rule", () => {
  const text = example({
    name: "Case",
    cord: "cord W1 1.0mm2 anchored {\n  earth: inE 110mm green-yellow\n}",
    earth: OWN,
  });
  expect(findingsOf(text).map(({ rule }) => rule)).not.toContain("circuit/rule-failed");
});
