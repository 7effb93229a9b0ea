/** Grids whose only way to common goes over a contact: in every position of a switch, and with a plug in a jack. */
import { describe, expect, it } from "vitest";
import { check } from "../../../server/check.ts";

/** A small stage with its grid on `in`, and an output valve with its grid on `go`. */
const amplifier = (grids: string) => `amp "Contacts"
source B1 250V { plus: HT, minus: gnd }
HT -- resistor R1 100k 1W 500V -- p1
valve V1 ECC83 { a { plate: p1, grid: g1, cathode: k1 } }
k1 -- resistor R2 1k5 0.5W -- gnd
in -- resistor R3 68k 0.5W -- g1
p1 -- capacitor C1 22n 630V film -- c1
valve V2 EL84 { plate: HT, screen: HT, grid: go, cathode: k2 }
k2 -- resistor R4 220R 5W wirewound -- gnd
${grids}
`;
const LEAK = "in -- resistor R5 1M 0.5W -- gnd";
const OUT = "c1 -- wire -- go\ngo -- resistor R6 470k 0.5W -- gnd";

const grids = (text: string) =>
  check("case", amplifier(text)).findings.filter(({ rule }) => /^valve\/grid-(left-)?open$/.test(rule));
const told = (text: string) =>
  grids(text).map(({ rule, severity, on }) => `${severity} ${rule.slice(6)} ${on[0]}`);

describe("switches", () => {
  it.each([
    [
      "a leak on the common, whatever the throws carry",
      `${LEAK}\n${OUT}\nswitch S1 250V { common: in, 1: a, 2: b }`,
      [],
    ],
    [
      "the leak behind a switch",
      `in -- switch S1 mute 250V -- s\ns -- resistor R5 1M 0.5W -- gnd\n${OUT}`,
      ["error grid-left-open V1"],
    ],
    [
      "a grid that a middle position leaves alone",
      `switch S1 spdt centre-off 250V { common: in, 1: a, 2: b }\na -- resistor R5 1M 0.5W -- gnd\nb -- resistor R7 1M 0.5W -- gnd\n${OUT}`,
      ["error grid-left-open V1"],
    ],
    [
      "the same with a leak of the grid's own",
      `switch S1 spdt centre-off 250V { common: in, 1: a, 2: b }\na -- resistor R5 1M 0.5W -- gnd\nb -- resistor R7 1M 0.5W -- gnd\n${OUT}\n${LEAK.replace("R5", "R8")}`,
      [],
    ],
    ["a leak that a mute switch shorts", `${LEAK}\nin -- switch S1 mute 250V -- gnd\n${OUT}`, []],
    [
      "open as the file stands: the rule for that tells it, and once",
      `switch S1 spdt 250V { common: in, 1: a, 2: b }\nb -- resistor R7 1M 0.5W -- gnd\na -- capacitor C9 1n 100V film -- gnd\n${OUT}`,
      ["error grid-open V1"],
    ],
    [
      "one grid open as it stands and another left open",
      `in -- switch S1 mute 250V -- s\ns -- resistor R5 1M 0.5W -- gnd\nc1 -- wire -- go`,
      ["error grid-left-open V1", "error grid-open V2"],
    ],
    [
      "two contacts in one way",
      `in -- switch S1 mute 250V -- s\ns -- switch S2 mute 250V -- t\nt -- resistor R5 1M 0.5W -- gnd\n${OUT}`,
      ["error grid-left-open V1", "error grid-left-open V1"],
    ],
    [
      "two ways, each over a contact",
      `in -- switch S1 mute 250V -- s\ns -- resistor R5 1M 0.5W -- gnd\nin -- switch S2 mute 250V -- t\nt -- resistor R7 1M 0.5W -- gnd\n${OUT}`,
      [],
    ],
  ])("%s", (_, text, expected) => {
    expect(told(text).sort()).toEqual([...expected].sort());
  });

  it("names every position that leaves it open", () => {
    const [found] = grids(
      `switch S1 250V { common: in, 1: a, 2: b, 3: c }\na -- resistor R5 1M 0.5W -- gnd\nb -- capacitor C8 1n 100V film -- gnd\nc -- capacitor C9 1n 100V film -- gnd\n${OUT}`,
    );
    expect(found.message).toContain("with S1 at 2 or at 3");
  });

  it("tells grids that hang together once", () => {
    const found = grids(
      `in -- switch S1 mute 250V -- s\ns -- resistor R5 1M 0.5W -- gnd\nin -- resistor R9 10k 0.5W -- go`,
    );
    expect(found).toHaveLength(1);
    expect(found[0].message).toContain("V2 hangs on the same");
    expect(found[0].on).toContain("go");
  });
});

describe("jacks", () => {
  it.each([
    [
      "an input that only its break contact ties down",
      `jack J1 { tip: in, tip-break: gnd, sleeve: gnd }\n${OUT}`,
      ["advice grid-left-open V1"],
    ],
    ["the same with its leak", `jack J1 { tip: in, tip-break: gnd, sleeve: gnd }\n${LEAK}\n${OUT}`, []],
    [
      "a grid behind the break contact, which the plug cuts off",
      `${LEAK}\njack J1 { tip: c1, tip-break: go, sleeve: gnd }\nc1 -- resistor R6 470k 0.5W -- gnd`,
      ["error grid-left-open V2"],
    ],
    [
      "an output valve's grid that the plug feeds",
      `${LEAK}\njack J1 { tip: go, tip-break: c1, sleeve: gnd }\nc1 -- resistor R6 470k 0.5W -- gnd`,
      ["error grid-left-open V2"],
    ],
    [
      "an input without leak or break contact: open as it stands",
      `jack J1 { tip: in, sleeve: gnd }\n${OUT}`,
      ["error grid-open V1"],
    ],
    [
      "two inputs, one leak between them",
      `jack J1 { tip: in, tip-break: in2, sleeve: gnd }\njack J2 { tip: in2, tip-break: gnd, sleeve: gnd }\nin2 -- resistor R7 68k 0.5W -- g1\nin2 -- resistor R5 1M 0.5W -- gnd\n${OUT}`,
      [],
    ],
  ])("%s", (_, text, expected) => {
    expect(told(text)).toEqual(expected);
  });
});
