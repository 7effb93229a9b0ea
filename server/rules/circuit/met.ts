/** Rules whose findings are made while the file is read: here stands what they mean, for the reader and the pages. */
import type { Rule } from "../rule.ts";

const told = (): readonly never[] => [];
const stage = (name: string, lines: string): string => `amp "${name}"
source B1 300V { plus: HT1, minus: gnd }
HT1 -- resistor R1 100k 1W 500V -- p1
${lines}
`;

export const syntax: Rule = {
  id: "circuit/syntax",
  severity: "error",
  sentence: "A line is not in the language, or is not finished.",
  why: "What the line says is left out of the circuit, so whatever it would have changed is computed without it.",
  source: "the language's grammar",
  quiet: "Told once per line; every other line is still checked.",
  bad: stage("Line not finished", "p1 -- resistor R2 100k 1W 500V -- gnd\np1 -- resistor R3 220k 1W 500V --"),
  good: stage("Line finished", "p1 -- resistor R2 100k 1W 500V -- gnd"),
  check: told,
};

export const unit: Rule = {
  id: "circuit/unit",
  severity: "error",
  sentence: "A value is of the wrong kind for its part, or out of any reason.",
  why: "A resistor of so many farads is a slip: the value is not used, and the part is kept with what is left.",
  source: "IEC 60062 and SI",
  quiet: "Quiet on every notation of the trade: 4k7, 4.7k, 4.7 kΩ, 22n, 0.022uF, 1/2W.",
  bad: stage(
    "Farads in a resistor",
    "p1 -- resistor R2 100k 1W 500V -- gnd\np1 -- resistor R3 220k 22nF 1W 500V -- gnd",
  ),
  good: stage(
    "Ohms in a resistor",
    "p1 -- resistor R2 100k 1W 500V -- gnd\np1 -- resistor R3 220k 1W 500V -- gnd",
  ),
  check: told,
};

export const duplicateReference: Rule = {
  id: "circuit/duplicate-reference",
  severity: "error",
  sentence: "Two parts have the same reference.",
  why: "A finding on R5 must mean one part. The second one is left out, so its part of the circuit is missing.",
  source: "IEC 81346 and common practice: a reference is given once",
  quiet:
    "Quiet on sections of one valve written apart, and on parts of blocks, which have their block's prefix.",
  bad: stage(
    "Two of one name",
    "p1 -- resistor R2 100k 1W 500V -- gnd\np1 -- resistor R2 220k 1W 500V -- gnd",
  ),
  good: stage("Each its own", "p1 -- resistor R2 100k 1W 500V -- gnd\np1 -- resistor R3 220k 1W 500V -- gnd"),
  check: told,
};

export const unknownType: Rule = {
  id: "circuit/unknown-type",
  severity: "error",
  sentence: "A valve, kind or type is not known.",
  why: "Without its curves and its limits nothing that the valve does can be computed or checked.",
  source: "the data of this program",
  quiet: "Quiet on every name that a type is known by, European, American and military.",
  bad: `amp "Unknown valve"
source B1 300V { plus: HT1, minus: gnd }
source B2 6.3V { plus: h1, minus: gnd }
HT1 -- resistor R1 100k 1W 500V -- p1
valve V1 ECC8X { plate: p1, grid: g1, cathode: k1, heater: h1 gnd }
g1 -- resistor R2 1M 0.5W 350V -- gnd
k1 -- resistor R3 1k5 0.5W 350V -- gnd
`,
  good: `amp "Known valve"
source B1 300V { plus: HT1, minus: gnd }
source B2 6.3V { plus: h1, minus: gnd }
HT1 -- resistor R1 100k 1W 500V -- p1
valve V1.a ECC83 { plate: p1, grid: g1, cathode: k1 }
valve V1 ECC83 { heater: h1 gnd }
g1 -- resistor R2 1M 0.5W 350V -- gnd
k1 -- resistor R3 1k5 0.5W 350V -- gnd
`,
  check: told,
};
