import { added, type Mutation, on, replaced } from "./mutation.ts";

/** Slips of the pen, and faults of the wiring as such. */
export const circuit: readonly Mutation[] = [
  {
    rule: "circuit/common-cause",
    fault: "a high-tension winding of more than half as much again",
    change: (sample) =>
      on(
        "T1.ht",
        replaced(sample, /ht( +)(\d+)-0-\d+V/, (_: string, blanks: string, volts: string) => {
          const more = Math.round(Number(volts) * 1.6);
          return `ht${blanks}${more}-0-${more}V`;
        }),
      ),
    allow: { "rating/switch-dc": "its contacts stand at the same high tension" },
  },
  {
    rule: "circuit/syntax",
    fault: "a line not finished",
    change: (sample) => on("", added(sample.text, "gnd -- resistor R90 220k 1W 500V --")),
  },
  {
    rule: "circuit/unit",
    fault: "a resistor of farads",
    change: (sample) => on("R90", added(sample.text, "in -- resistor R90 1M 22nF 1W 500V -- gnd")),
  },
  {
    rule: "circuit/duplicate-reference",
    fault: "two parts of one name",
    change: (sample) => on("R3", added(sample.text, "in -- resistor R3 1M 0.5W metal-film -- gnd")),
  },
  {
    rule: "circuit/unknown-type",
    fault: "a valve's type misspelt",
    change: (sample) => on("V2", replaced(sample, /valve V2 (\w+)/, "valve V2 QQ99X")),
  },
  {
    rule: "circuit/unknown-fact",
    fault: "a word misspelt",
    change: (sample) =>
      on("R3", replaced(sample, "resistor R3 1M 0.5W metal-film", "resistor R3 1M 0.5W metl-film")),
  },
  {
    rule: "circuit/missing-value",
    fault: "a resistor without ohms",
    change: (sample) => on("R90", added(sample.text, "in -- resistor R90 1W 500V -- gnd")),
  },
  {
    rule: "circuit/unknown-terminal",
    fault: "a terminal that a jack has not",
    change: (sample) => on("J1", replaced(sample, "sleeve: gnd }", "sleeve: gnd, colar: gnd }")),
  },
  {
    rule: "circuit/unknown-net",
    fault: "a reading of a net that is not there",
    change: (sample) => on("HT9", added(sample.text, "measured HT9 200V")),
  },
  {
    rule: "circuit/unknown-reference",
    fault: "a reading across a part that is not there",
    change: (sample) => on("R99", added(sample.text, "measured across R99 11V")),
  },
  {
    rule: "circuit/winding-nets",
    fault: "a centre-tapped heater winding with two nets",
    change: (sample) =>
      on(
        "T1",
        replaced(
          sample,
          /^( +)heater( +)6\.3V/m,
          "$1spare 3.15-0-3.15V 1A { sp1 sp2 }\n$1heater$26.3V",
        )?.concat("\nsp1 -- resistor R90 100R 1W metal-film -- sp2\n"),
      ),
    allow: { "circuit/no-dc-path": "the winding is left out, and its nets hang on a resistor alone" },
  },
  {
    rule: "circuit/include",
    fault: "an included file that is not there",
    change: (sample) => on("", added(sample.text, 'include "nowhere.ampnet"')),
  },
  {
    rule: "circuit/unknown-block",
    fault: "a block that no file defines",
    change: (sample) => on("", added(sample.text, "use tremolo(in) as N")),
  },
  {
    rule: "circuit/block-arguments",
    fault: "a block with a net left out",
    change: (sample) =>
      on(
        "",
        added(
          sample.text,
          "block leak(top, bottom) {",
          "  top -- resistor R1 1M 0.5W metal-film -- bottom",
          "}",
          "use leak(in) as N",
        ),
      ),
    allow: { "circuit/single-use-net": "the net left out is joined to nothing" },
  },
  {
    rule: "circuit/single-use-net",
    fault: "a net misspelt",
    change: (sample) => on("gdn", replaced(sample, /^(in -- resistor R3 .*) -- gnd/m, "$1 -- gdn")),
    allow: {
      "valve/grid-open": "the first grid has lost its way to common",
    },
  },
  {
    rule: "circuit/no-dc-path",
    fault: "a net between capacitors",
    change: (sample) =>
      on(
        "mid90",
        added(
          sample.text,
          "HT1 -- capacitor C90 22n 1000V film -- mid90 -- capacitor C91 22n 1000V film -- gnd",
        ),
      ),
  },
  {
    rule: "circuit/short",
    fault: "both ends of a part on one net",
    change: (sample) => on("R90", added(sample.text, "HT1 -- resistor R90 470k 1W 1000V -- HT1")),
  },
  {
    rule: "circuit/unconnected",
    fault: "an end in the air",
    change: (sample) => on("R90", added(sample.text, "resistor R90 470k 1W 1000V { a: gnd }")),
  },
  {
    rule: "circuit/not-solved",
    fault: "two sources at odds",
    change: (sample) =>
      on(
        "HT1",
        added(
          sample.text,
          "source B90 300V { plus: HT1, minus: gnd }",
          "source B91 250V { plus: HT1, minus: gnd }",
        ),
      ),
  },
  {
    rule: "circuit/waive-unused",
    fault: "a waiver for nothing",
    change: (sample) =>
      on("C999", added(sample.text, 'waive rating/capacitor-voltage on C999 because "old"')),
  },
  {
    rule: "circuit/waive-expired",
    fault: "a waiver past its day",
    change: (sample) =>
      on(
        "R90",
        added(
          sample.text,
          "HT1 -- resistor R90 470k 1W 1000V -- HT1",
          'waive circuit/short on R90 because "spare tag" until 2020-01-01',
        ),
      ),
    allow: { "circuit/short": "what it waived is told again" },
  },
];
