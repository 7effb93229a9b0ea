/**
 * Every sound sample, one fault at a time put into its mains side, its earth, its nets or its readings: the rule for
 * that fault must speak, and no rule that has nothing to do with it may.
 */
import { readdirSync, readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { check } from "../../server/check.ts";
import type { Finding } from "../../server/rules/rule.ts";

const folder = new URL("../../samples/", import.meta.url);
const samples = readdirSync(folder).filter((name) => name.endsWith(".ampnet"));
const run = (text: string): readonly Finding[] =>
  check("sample.ampnet", text, { today: "2026-01-15" }).findings.filter(
    ({ rule, severity, waived }) =>
      (severity === "error" || severity === "warning" || rule === "circuit/common-cause") && !waived,
  );

interface Fault {
  readonly rule: string;
  readonly what: string;
  /** Gives undefined where the sample has no place for the fault. */
  readonly put: (text: string) => string | undefined;
  /** Other rules that the same fault is right to rouse. */
  readonly also?: readonly string[];
}

const swap = (find: RegExp, by: string | ((...groups: string[]) => string)) => (text: string) => {
  const next = text.replace(find, by as string);
  return next === text ? undefined : next;
};
const add = (line: string) => (text: string) => `${text}\n${line}\n`;
const FUSE = /^(\S+) -- fuse (F1 [^-]*?) -- (\S+)/m;

const faults: readonly Fault[] = [
  { rule: "mains/fuse-tip", what: "fuse turned round", put: swap(FUSE, "$3 -- fuse $2 -- $1") },
  {
    rule: "mains/fuse-first",
    what: "fuse bridged",
    put: swap(FUSE, "$1 -- fuse $2 -- $3\n$1 -- wire W90 600V -- $3"),
    also: ["circuit/short"],
  },
  {
    rule: "mains/neutral-broken",
    what: "a switch in the neutral",
    put: (text) =>
      swap(/neutral: inN/, "neutral: plugN")(text)?.concat("\nplugN -- switch S90 mains 250V 10A -- inN\n"),
  },
  {
    rule: "mains/fuse-in-neutral",
    what: "fuse moved to the neutral",
    put: (text) =>
      swap(
        FUSE,
        "$1 -- wire W90 600V -- $3",
      )(text)
        ?.replace(/neutral: inN/, "neutral: plugN")
        .concat("\nplugN -- fuse F90 T1A 250V -- inN\n"),
    also: ["mains/fuse-first", "mains/wrong-both-ways", "mains/fuse-value"],
  },
  {
    rule: "mains/switch-active",
    what: "switch bridged",
    put: (text) => {
      const found = text.match(/(\S+) -- switch S1 mains [^-]* -- (\S+)|common: (fused), on: (live)/);
      return found
        ? `${text}\n${found[1] ?? found[3]} -- wire W90 600V -- ${found[2] ?? found[4]}\n`
        : undefined;
    },
    // Of a double-pole switch the other pole is left, in the neutral alone.
    also: ["mains/neutral-broken", "mains/wrong-both-ways"],
  },
  {
    rule: "mains/either-way-round",
    what: "an outlet either way round",
    put: (text) => (text.includes("dpst") ? undefined : `${text}\nassume outlet unpolarised\n`),
  },
  { rule: "mains/crossed", what: "neutral on the chassis", put: add("inN -- wire W90 600V -- chassis") },
  {
    rule: "mains/line-capacitor",
    what: "an ordinary capacitor to the chassis",
    put: add("inN -- capacitor C90 4n7 630V film -- chassis"),
  },
  {
    rule: "mains/touch-current",
    what: "much class Y",
    put: add("fused -- capacitor C90 100n Y2 250VAC film -- chassis"),
  },
  {
    rule: "mains/capacitor-bleed",
    what: "class X without a bleeder",
    put: add("inA -- capacitor C90 470n X2 275VAC film -- inN"),
  },
  {
    rule: "mains/polarity-switch",
    what: "a ground switch",
    put: add(
      "switch S90 ground spdt centre-off 250V 3A { common: mid90, 1: fused, 2: inN }\nmid90 -- capacitor C90 2n2 Y2 250VAC ceramic -- chassis",
    ),
  },
  { rule: "mains/fuse-value", what: "a fuse of 10 A", put: swap(/fuse F1 T[\d.]+m?A/, "fuse F1 T10A") },
  { rule: "mains/fuse-value", what: "a fuse of 32 mA", put: swap(/fuse F1 T[\d.]+m?A/, "fuse F1 T32mA") },
  { rule: "mains/fuse-value", what: "a fast fuse", put: swap(/fuse F1 T([\d.]+m?A)/, "fuse F1 F$1") },
  { rule: "mains/fuse-voltage", what: "a fuse of 63 V", put: swap(/(fuse F1 \S+) 250V/, "$1 63V") },
  {
    rule: "mains/switch-rating",
    what: "a switch of 50 V",
    put: swap(/(switch S1 mains(?: dpst)?) 250V/, "$1 50V"),
  },
  { rule: "mains/cord-rating", what: "a cord of 50 mA", put: swap(/(cord W1 \S+) [\d.]+A/, "$1 50mA") },
  {
    rule: "mains/wire-insulation",
    what: "a wire of 50 V",
    put: add("inN -- wire W90 50V -- more90\nmore90 -- resistor R90 1M 1W 500V -- fused"),
  },
  {
    rule: "mains/cloth-wire",
    what: "a cloth wire",
    put: add("inN -- wire W90 600V cloth -- more90\nmore90 -- resistor R90 1M 1W 500V -- fused"),
  },
  {
    rule: "mains/colour",
    what: "colours exchanged",
    put: swap(/inA( +\S+) (brown|black)/, "inA$1 green-yellow"),
  },
  { rule: "mains/anchorage", what: "cord not anchored", put: swap(/ anchored/, " unanchored") },
  {
    rule: "mains/primary-voltage",
    what: "a primary for a tenth less",
    put: swap(/primary (\d+)V/, (_, volts) => `primary ${Math.round(Number(volts) * 0.9)}V`),
    // Everything behind it stands a tenth higher, and what that passes is told where it is passed.
    also: ["rating/", "valve/", "supply/", "output/", "mains/fuse-value"],
  },
  {
    rule: "earth/missing",
    what: "no earth core",
    put: (text) => swap(/^ +earth: .*\n/m, "")(text)?.replace(/^inE -- .*\n/m, ""),
  },
  { rule: "earth/missing", what: "earth core that ends nowhere", put: swap(/^inE -- .*\n/m, "") },
  {
    rule: "earth/own-fixing",
    what: "fixing shared",
    put: swap(/bond E1 own-fixing/, "bond E1 shared-fixing"),
  },
  { rule: "earth/own-fixing", what: "a second lead on the core", put: add("inE -- wire W90 1.0mm2 -- gnd") },
  { rule: "earth/longest", what: "a short earth core", put: swap(/inE \d+mm/, "inE 30mm") },
  {
    rule: "earth/switched",
    what: "a switch in the earth",
    put: swap(
      /^inE -- (bond E1 own-fixing) -- chassis/m,
      "inE -- $1 -- lug90\nlug90 -- switch S90 lift 250V 10A -- chassis",
    ),
  },
  { rule: "earth/floating-metal", what: "a panel without a bond", put: add("metal panel") },
  { rule: "earth/cross-section", what: "a thin earth core", put: swap(/(inE +\d+mm)/, "$1 0.5mm2") },
  {
    rule: "earth/common-lift",
    what: "common lifted by a resistor",
    // A jack that touches the chassis would tie common to it: all are insulated first.
    put: (text) =>
      swap(
        /^gnd -- bond E2.*$/m,
        "gnd -- resistor R90 100R 5W -- chassis",
      )(text.replace(/jack (\w+)(?! insulated) \{/g, "jack $1 insulated {")),
  },
  { rule: "earth/record", what: "a poor earth", put: add("measured earth-continuity 5R") },
  {
    rule: "circuit/single-use-net",
    what: "a net misspelt",
    put: swap(/^(in -- resistor R3 .*) -- gnd/m, "$1 -- gdn"),
    also: ["valve/", "circuit/no-dc-path"],
  },
  {
    rule: "circuit/no-dc-path",
    what: "a net between capacitors",
    put: add("HT1 -- capacitor C90 22n 1000V film -- mid90 -- capacitor C91 22n 1000V film -- gnd"),
    also: ["supply/discharge-path"],
  },
  { rule: "circuit/short", what: "a part on one net", put: add("HT1 -- resistor R90 470k 1W 1000V -- HT1") },
  {
    rule: "circuit/unconnected",
    what: "an end in the air",
    put: add("resistor R90 470k 1W 1000V { a: gnd }"),
  },
  {
    rule: "bench/reading",
    what: "a reading of half",
    put: add("measured HT1 120V at mains 230V"),
    also: ["bench/"],
  },
  { rule: "bench/reading-impossible", what: "a reading of 5 kV", put: add("measured HT1 5000V") },
  {
    rule: "circuit/common-cause",
    what: "a high-tension winding of half as much again",
    put: swap(/ht( +)(\d+)-0-\d+V/, (_, blanks, volts) => {
      const more = Math.round(Number(volts) * 1.6);
      return `ht${blanks}${more}-0-${more}V`;
    }),
    also: ["rating/", "valve/", "supply/", "output/", "mains/fuse-value"],
  },
  {
    rule: "circuit/waive-unused",
    what: "a waiver for nothing",
    put: add('waive rating/capacitor-voltage on C999 because "old"'),
  },
];

for (const name of samples) {
  const text = readFileSync(new URL(name, folder), "utf8");
  const before = run(text);
  // A sample with faults of its own is a check of those, not of these.
  if (before.length > 0) continue;
  describe(name, () => {
    for (const { rule, what, put, also = [] } of faults) {
      const faulty = put(text);
      if (faulty === undefined) continue;
      it(`${what}: ${rule}`, () => {
        const found = run(faulty);
        expect(found.map((finding) => finding.rule)).toContain(rule);
        const foreign = found.filter(
          (finding) =>
            finding.rule !== rule &&
            finding.follows !== rule &&
            !also.some((id) => finding.rule.startsWith(id)),
        );
        expect(foreign.map((finding) => `${finding.rule}: ${finding.message}`)).toEqual([]);
      });
    }
  });
}

describe("the samples", () => {
  it("give at least three sound ones to put faults into", () => {
    const sound = samples.filter((name) => run(readFileSync(new URL(name, folder), "utf8")).length === 0);
    expect(sound.length).toBeGreaterThanOrEqual(3);
  });
});
