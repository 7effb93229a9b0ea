/** One slip as it is made at the keyboard or the socket: told once, at its line, in words that name it. */
import { describe, expect, it } from "vitest";
import { check } from "../../server/check.ts";

const text = `amp "One slip"
source B1 300V { plus: HT, minus: gnd }
transformer T1 20VA {
  primary 230V 40R { a b }
  heater 3.15-0-3.15V 2A 0.1R { h1 gnd h2 }
}
HT -- resistor R1 100k 1W 500V metal-film -- p1
g1 -- resistor R2 1M 0.5W -- gnd
k1 -- resistor R3 1k5 0.5W -- gnd
valve V1 ECC83 { a { plate: p1, grid: g1, cathode: k1 }, heater: h1 h2 }
p1 -- capacitor C1 22n 630V film -- g2
g2 -- resistor R4 470k 0.5W -- gnd
k2 -- resistor R5 270R 5W wirewound -- gnd
g2 -- resistor R7 2k2 0.5W -- g3
valve V2 EL84 { plate: p2, screen: s2, grid: g3, cathode: k2, heater: h1 h2 }
HT -- resistor R6 1k 2W -- s2
output-transformer T2 8W {
  plates 5k 60mA 300R { p2 HT }
  speaker 8R 0.5R { gnd spk }
}
spk -- speaker LS1 8R 10W -- gnd
`;
const leading = (netlist: string) =>
  check("slip.ampnet", netlist).findings.filter(
    ({ severity, follows, rule }) =>
      severity !== "unchecked" && follows === undefined && rule !== "output/power",
  );
const before = leading(text).map(({ message }) => message);
const told = (from: string, to: string) => {
  expect(text).toContain(from);
  return leading(text.replace(from, to)).filter(({ message }) => !before.includes(message));
};

describe("words misspelt", () => {
  it.each([
    ["plate: p2", "plat: p2", "circuit/unknown-terminal", /no terminal called plat\. Did you mean plate\?/],
    [
      "cathode: k1",
      "cathod: k1",
      "circuit/unknown-terminal",
      /no terminal called cathod\. Did you mean cathode\?/,
    ],
    ["valve V2", "vlave V2", "circuit/syntax", /No statement begins with vlave\. Did you mean valve\?/],
    ["valve V2", "valve V1", "circuit/duplicate-reference", /^V1 is written twice/],
    [
      "g2 -- resistor R4 470k 0.5W -- gnd",
      "g2 - resistor R4 470k 0.5W - gnd",
      "circuit/syntax",
      /^A path is joined with two dashes: g2 -- part -- net\.$/,
    ],
    [
      "3.15-0-3.15V 2A 0.1R { h1 gnd h2 }",
      "3.15-0-3.15V 2A 0.1R { h1 h2 }",
      "circuit/winding-nets",
      /has 3 taps from end to end and 2 nets are written/,
    ],
  ])("%s as %s", (from, to, rule, message) => {
    const [found, ...more] = told(from, to);
    expect(more.map(({ message }) => message)).toEqual([]);
    expect(found.rule).toBe(rule);
    expect(found.message).toMatch(message);
  });

  it("takes two halves of one name for the valve that they are, and another type in its section as such", () => {
    const halves = text.replace(
      "valve V1 ECC83 { a {",
      "valve V1.b ECC83 { plate: HT, grid: gnd, cathode: k9 }\nk9 -- resistor R9 10k 1W -- gnd\nvalve V1 ECC83 { a {",
    );
    expect(leading(halves).some(({ rule }) => rule === "circuit/duplicate-reference")).toBe(false);
    const other = halves.replace("valve V1.b ECC83", "valve V1.b ECC82");
    expect(leading(other).some(({ message }) => /where it is first written/.test(message))).toBe(true);
  });

  it("offers only names whose letters changed places side by side", () => {
    expect(told("valve V2", "vlvae V2")[0].message).toContain("vlvae");
    expect(told("valve V2", "evalv V2")[0].message).not.toContain("Did you mean");
  });
});

describe("leads exchanged at a socket", () => {
  it.each([
    ["plate: p2, screen: s2, grid: g3, cathode: k2", "plate: k2, screen: s2, grid: g3, cathode: p2", "V2"],
    ["plate: p1, grid: g1, cathode: k1", "plate: k1, grid: g1, cathode: p1", "V1.a"],
  ])("plate and cathode, of %s", (from, to, key) => {
    const [found, ...more] = told(from, to);
    expect(more.map(({ message }) => message)).toEqual([]);
    expect(found.rule).toBe("supply/no-high-tension");
    expect(found.message).toContain(`No high tension comes to ${key}`);
    expect(found.message).toContain("plate and cathode are exchanged");
  });

  it("grid and cathode", () => {
    const found = told("grid: g3, cathode: k2", "grid: k2, cathode: g3").find(
      ({ rule }) => rule === "valve/bias-cold",
    );
    // By hand: the leak of 470 kΩ and the stopper in one lead, the cathode resistor of 270 Ω in the other.
    expect(found?.message).toContain("Its cathode (g3) has 472 kΩ to common, and its grid (k2) only 270 Ω");
  });

  it("says nothing of it where a cathode resistor is of the wrong decade alone", () => {
    const [found] = told("R5 270R", "R5 27k");
    expect(found.message).toContain("A smaller cathode resistor: look at its decade.");
    expect(found.message).not.toContain("exchanged");
  });
});

describe("a supply that is shorted", () => {
  const shorted = (line: string) =>
    told(
      "HT -- resistor R6 1k 2W -- s2",
      `HT -- resistor R8 1k 10W -- HTx\nHTx -- capacitor C8 32u 450V electrolytic -- gnd\n${line}\nHT -- resistor R6 1k 2W -- s2`,
    );
  it("is an error at the joint, by its nets where it has no name", () => {
    const [found] = shorted("HTx -- wire -- gnd").filter(({ rule }) => rule === "circuit/short");
    expect(found.severity).toBe("error");
    expect(found.message).toMatch(/^HTx is shorted to circuit common, across C8, by the wire HTx to gnd/);
    const [named] = shorted("HTx -- bond E7 -- gnd").filter(({ rule }) => rule === "circuit/short");
    expect(named.message).toContain("by E7");
  });
  it("is none where a cathode's capacitor is shorted", () => {
    const [found] = told(
      "k2 -- resistor R5",
      "k2 -- capacitor C9 100u 25V electrolytic -- gnd\nk2 -- wire -- gnd\nk2 -- resistor R5",
    ).filter(({ rule, on }) => rule === "circuit/short" && on.includes("C9"));
    expect(found.severity).toBe("warning");
  });
});

describe("heaters that suit another winding", () => {
  it.each([
    [
      "heater: h1 h2 }\np1",
      "heater: h1 h2 series }\np1",
      "Its halves wired in parallel suit those volts: heater: h1 h2 parallel.",
    ],
    ["3.15-0-3.15V", "2.5-0-2.5V", "T1.heater is a winding of 5 V, and the heater of V1 is made for 6.3 V"],
  ])("%s as %s", (from, to, words) => {
    const [found] = told(from, to).filter(({ rule }) => rule === "valve/heater-voltage");
    expect(found.message).toContain(words);
  });
});

describe("readings and waivers", () => {
  it.each([
    ["across V2.heater 6.5V", []],
    ["across T1.heater 6.5V", []],
    ["across V2.heater 5V", ["bench/reading"]],
    ["across V2.heater 8V", ["bench/reading"]],
  ])("measured %s is an alternating voltage", (line, rules) => {
    expect(told("spk -- speaker", `measured ${line}\nspk -- speaker`).map(({ rule }) => rule)).toEqual(rules);
  });

  it("says that a waiver's part is not there, and leaves one of a section or net alone", () => {
    const waived = (on: string) =>
      told("spk -- speaker", `waive rating/resistor-power on ${on} because "seen"\nspk -- speaker`)[0]
        .message;
    expect(waived("R55")).toContain("no part or net is called that. Did you mean R5?");
    for (const on of ["R5", "V1.a", "T1.heater", "p1"]) expect(waived(on)).toContain("nothing left to hold");
  });
});

describe("what is missing takes along what hangs on it", () => {
  it("leads the blocks of a file that is not there", () => {
    const { findings } = check(
      "slip.ampnet",
      `${text}include "stages.ampnet"\nuse gain(p1, g1) as N\nuse gain(p1, g1) as M\n`,
    );
    const blocks = findings.filter(({ rule }) => rule === "circuit/unknown-block");
    expect(blocks.map(({ follows }) => follows)).toEqual(["circuit/include", "circuit/include"]);
    const alone = check("slip.ampnet", `${text}use gain(p1, g1) as N\n`).findings;
    expect(alone.find(({ rule }) => rule === "circuit/unknown-block")?.follows).toBeUndefined();
  });

  it("names the centre tap that nothing is joined to, and not one that is", () => {
    const supply = (tap: string, bleeder = "HT -- resistor R9 220k 3W 500V -- gnd\n") => `amp "Open tap"
transformer T1 60VA {
  primary 230V 20R { a b }
  ht 250-0-250V 80mA 200R { x ${tap} y }
}
x -- diode D1 1N4007 -- HT
y -- diode D2 1N4007 -- HT
HT -- capacitor C1 32u 600V film -- gnd
${bleeder}HT -- resistor R1 100k 3W 500V -- p1
k1 -- resistor R3 1k5 0.5W -- gnd
g1 -- resistor R2 1M 0.5W -- gnd
valve V1 ECC83 { a { plate: p1, grid: g1, cathode: k1 } }
`;
    const floats = check("tap.ampnet", supply("ct", "")).findings.find(
      ({ rule }) => rule === "circuit/no-dc-path",
    );
    expect(floats?.message).toContain(
      "The centre tap of T1.ht (ct) is joined to nothing: it belongs on circuit common.",
    );
    const dead = (tap: string) =>
      check("tap.ampnet", supply(tap)).findings.filter(({ rule }) => rule === "supply/no-high-tension");
    expect(dead("ct")[0].message).toContain(
      "the centre tap of T1.ht (ct) is joined to nothing. It belongs on circuit common.",
    );
    expect(dead("gnd")).toEqual([]);
  });
});

describe("a row of rectifiers of one sheet", () => {
  const blocks = (type: string) =>
    check(
      "row.ampnet",
      `amp "Row"
transformer T1 60VA {
  primary 230V 20R { a b }
  ht 100V 100mA 50R { x gnd }
}
x -- diode D1 ${type} -- HT
HT -- capacitor C1 32u 350V electrolytic -- gnd
HT -- resistor R1 10k 10W 500V -- gnd
`,
    ).findings.filter(({ rule, on }) => rule === "rating/diode-reverse" && on.includes("D1"));
  // By hand: twice the crest of 100 V rms and a little more without load, 283 V and over.
  it.each([
    ["1N4003", "error"],
    ["1N4004", undefined],
    ["1N4005", undefined],
    ["1N5402", "error"],
    ["1N5406", undefined],
    ["UF4003", "error"],
    ["UF4005", undefined],
  ])("%s", (type, severity) => {
    const [found] = blocks(type);
    if (severity === "error") expect(found.severity).toBe("error");
    else expect(found?.severity).not.toBe("error");
  });
});
