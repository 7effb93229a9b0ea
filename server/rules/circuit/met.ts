/** Rules whose findings are made while the file is read: here stands what they mean, for the reader and the pages. */
import type { Lead, Rule } from "../rule.ts";
import { ledByCurrent } from "../shared/led.ts";

const told = (): readonly never[] => [];

/** What is likely to hang in the air for want of what a line said. */
const looseEnds: readonly Lead[] = [
  "bench/reading",
  "bench/reading-impossible",
  "circuit/no-dc-path",
  "circuit/single-use-net",
  "circuit/waive-unused",
  "output/winding-ends",
  "supply/no-high-tension",
  "supply/half-wave",
  "valve/bias-cold",
  "valve/bias-missing",
  "valve/cathode-open",
  "valve/grid-open",
  "valve/heater-floating",
  "valve/heater-missing",
  "valve/pair-imbalance",
].map((rule) => ({ rule, sharing: "any", manner: "mark" }));

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
  leads: looseEnds,
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
  leads: [...looseEnds, ...ledByCurrent],
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
  leads: looseEnds,
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
  // What an unknown valve draws is missing from every figure.
  leads: [
    ...ledByCurrent,
    ...["valve/plate-dissipation", "valve/screen-dissipation", "valve/cathode-current", "bench/reading"].map(
      (rule): Lead => ({ rule, sharing: "any", manner: "mark" }),
    ),
  ],
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

const good = stage("Nothing amiss", "p1 -- resistor R2 220k 1W 500V -- gnd");

export const unknownFact: Rule = {
  id: "circuit/unknown-fact",
  severity: "error",
  sentence: "A word or value behind a part is none that its kind has.",
  why: "What is not understood is not checked: a rating that was misspelt is a rating that nobody holds.",
  // What was meant as the value, and is none, is not missing as well.
  leads: [{ rule: "circuit/missing-value", sharing: "part", manner: "attach" }],
  source: "the language's grammar",
  quiet: "Quiet on facts in any order, and on a name of its own behind a switch.",
  bad: stage("Misspelt", "p1 -- resistor R2 220k 1W 500V metl-film -- gnd"),
  good,
  check: told,
};

export const missingValue: Rule = {
  id: "circuit/missing-value",
  severity: "error",
  sentence: "A part has not the one value that it cannot be computed without.",
  why: "A resistor without ohms is no resistor: the part is left out, and all that it carries with it.",
  leads: [...looseEnds, ...ledByCurrent],
  source: "the language's grammar",
  quiet:
    "Quiet on ratings, which may be left out and are then told as unchecked, and on values with a published default.",
  bad: stage("No ohms", "p1 -- resistor R2 220k 1W 500V -- gnd\np1 -- resistor R3 1W 500V -- gnd"),
  good,
  check: told,
};

export const unknownTerminal: Rule = {
  id: "circuit/unknown-terminal",
  severity: "error",
  sentence: "A terminal is named that the part does not have.",
  why: "The net behind it is joined to nothing, and the terminal that was meant stays open.",
  leads: looseEnds,
  source: "the language's grammar",
  quiet:
    "Quiet on the words of either side of the ocean: anode and plate, filament and heater, g2 and screen.",
  bad: stage(
    "No such terminal",
    "p1 -- resistor R2 220k 1W 500V -- gnd\np1 -- capacitor C2 22n 630V film -- out\nout -- resistor R3 470k 0.5W -- gnd\njack J1 { tip: out, sleeve: gnd, colar: gnd }",
  ),
  good,
  check: told,
};

export const unknownNet: Rule = {
  id: "circuit/unknown-net",
  severity: "error",
  sentence: "A reading is of a net that the circuit does not have.",
  why: "The reading is held against nothing.",
  source: "the language's grammar",
  quiet: "Quiet on nets, parts and terminals alike, as long as they are somewhere in the file.",
  bad: stage("No such net", "p1 -- resistor R2 220k 1W 500V -- gnd\nmeasured HT9 200V"),
  good,
  check: told,
};

export const unknownReference: Rule = {
  id: "circuit/unknown-reference",
  severity: "error",
  sentence: "A part is named that the circuit does not have.",
  why: "What was to be joined to its terminal, or read across it, hangs in the air.",
  leads: looseEnds,
  source: "the language's grammar",
  quiet: "Quiet on parts that are written further down, and on parts of blocks under their prefix.",
  bad: stage("No such part", "p1 -- resistor R2 220k 1W 500V -- gnd\nmeasured across R14 11V"),
  good,
  check: told,
};

export const windingNets: Rule = {
  id: "circuit/winding-nets",
  severity: "error",
  sentence: "A winding has not as many nets as its volts ask for.",
  why: "Which tap is which cannot be told, and every voltage behind the winding rests on it.",
  leads: [
    ...looseEnds,
    { rule: "supply/rectifier-inverse", sharing: "any", manner: "mark" },
    { rule: "rating/diode-reverse", sharing: "any", manner: "mark" },
    { rule: "valve/heater-voltage", sharing: "any", manner: "mark" },
  ],
  source: "the language's grammar: 340-0-340V has three nets, 50V two, 0-220-240V three",
  quiet: "Quiet where volts and nets agree.",
  bad: `amp "Two nets for three"
transformer T1 20VA {
  heater 3.15-0-3.15V 2A { h1 gnd }
}
h1 -- lamp LP1 6.3V 1A -- gnd
`,
  good: `amp "Three nets for three"
transformer T1 20VA {
  heater 3.15-0-3.15V 2A { h1 gnd h2 }
}
h1 -- lamp LP1 6.3V 1A -- h2
`,
  check: told,
};

export const include: Rule = {
  id: "circuit/include",
  severity: "error",
  sentence: "An included file cannot be read, includes itself, or lies outside the folder.",
  why: "All that the file holds is missing from the circuit.",
  leads: [...looseEnds, { rule: "circuit/unknown-block", sharing: "any", manner: "mark" }],
  source: "the language's grammar",
  quiet: "Quiet on a file that several others include.",
  bad: stage("No such file", 'p1 -- resistor R2 220k 1W 500V -- gnd\ninclude "nowhere.ampnet"'),
  good,
  check: told,
};

export const unknownBlock: Rule = {
  id: "circuit/unknown-block",
  severity: "error",
  sentence: "A block is used that no file defines, or that uses itself.",
  why: "The stage that it stands for is missing from the circuit.",
  leads: looseEnds,
  source: "the language's grammar",
  quiet: "Quiet on blocks defined further down or in an included file.",
  bad: stage("No such block", "p1 -- resistor R2 220k 1W 500V -- gnd\nuse gain(p1) as N"),
  good,
  check: told,
};

export const blockArguments: Rule = {
  id: "circuit/block-arguments",
  severity: "error",
  sentence: "A block is used with more or fewer nets than it takes.",
  why: "Which net goes where cannot be told, so what is missing is joined to nothing.",
  leads: [...looseEnds, { rule: "circuit/unknown-type", sharing: "any", manner: "mark" }],
  source: "the language's grammar",
  quiet: "Quiet where the numbers agree.",
  bad: stage(
    "One too many",
    `p1 -- resistor R2 220k 1W 500V -- gnd
block load(top) {
  top -- resistor R1 220k 1W 500V -- gnd
}
use load(p1, HT1) as N`,
  ),
  good: stage(
    "As many as it takes",
    `block load(top) {
  top -- resistor R1 220k 1W 500V -- gnd
}
use load(p1) as N`,
  ),
  check: told,
};

/** Every rule of this file, in the order of the pages. */
export const metRules: readonly Rule[] = [
  syntax,
  unit,
  duplicateReference,
  unknownType,
  unknownFact,
  missingValue,
  unknownTerminal,
  unknownNet,
  unknownReference,
  windingNets,
  include,
  unknownBlock,
  blockArguments,
];
