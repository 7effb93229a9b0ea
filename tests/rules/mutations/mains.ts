import { added, type Mutation, on, replaced } from "./mutation.ts";

const FUSE = /^(\S+) -- fuse (F1 [^-]*?) -- (\S+)/m;
const INRUSH = "a fuse that passes less or more than it should is judged by its value too";

/** Faults of the mains side. */
export const mains: readonly Mutation[] = [
  {
    rule: "mains/fuse-tip",
    fault: "the fuse-holder's leads exchanged",
    change: (sample) => on("F1", replaced(sample, FUSE, "$3 -- fuse $2 -- $1")),
  },
  {
    rule: "mains/fuse-first",
    fault: "the fuse bridged",
    change: (sample) => on("F1", replaced(sample, FUSE, "$1 -- fuse $2 -- $3\n$1 -- wire W90 600V -- $3")),
    allow: { "circuit/short": "the wire joins both ends of the fuse" },
  },
  {
    rule: "mains/neutral-broken",
    fault: "a single-pole switch in the neutral",
    change: (sample) =>
      on(
        "S90",
        replaced(sample, /neutral: inN/, "neutral: plugN")?.concat(
          "\nplugN -- switch S90 mains 250V 10A -- inN\n",
        ),
      ),
  },
  {
    rule: "mains/fuse-in-neutral",
    fault: "the fuse moved into the neutral",
    change: (sample) => {
      const moved = replaced(sample, FUSE, "$1 -- wire W90 600V -- $3");
      return on(
        "F90",
        moved?.replace(/neutral: inN/, "neutral: plugN").concat("\nplugN -- fuse F90 T1A 250V -- inN\n"),
      );
    },
    allow: {
      "mains/wrong-both-ways": "with a single-pole switch in the active it is wrong the other way round too",
      "mains/fuse-value": INRUSH,
    },
  },
  {
    rule: "mains/wrong-both-ways",
    fault: "the fuse in the neutral, the only switch in the active",
    change: (sample) => {
      if (sample.text.includes("dpst")) return undefined;
      const moved = replaced(sample, FUSE, "$1 -- wire W90 600V -- $3");
      return on(
        "F90",
        moved?.replace(/neutral: inN/, "neutral: plugN").concat("\nplugN -- fuse F90 T1A 250V -- inN\n"),
      );
    },
    allow: {
      "mains/fuse-in-neutral": "half of what is wrong",
      "mains/fuse-value": INRUSH,
    },
  },
  {
    rule: "mains/switch-active",
    fault: "the switch bridged",
    change: (sample) => {
      const found = sample.text.match(/(\S+) -- switch S1 mains [^-]* -- (\S+)|common: (fused), on: (live)/);
      return found
        ? on("T1", added(sample.text, `${found[1] ?? found[3]} -- wire W90 600V -- ${found[2] ?? found[4]}`))
        : undefined;
    },
    allow: {
      "mains/wrong-both-ways": "of a double-pole switch the other pole is left, in the neutral alone",
    },
  },
  {
    rule: "mains/switch-missing",
    fault: "the mains switch left out, wires in its place",
    elsewhere: "what is missing has no line: the way is shown",
    change: (sample) => {
      const single = /^(\S+) -- switch S1 mains [^\n{]*? -- (\S+)$/m;
      const double =
        /^switch S1 mains [^{]*\{[^\n]*\n\s*1 \{ common: (\S+), on: (\S+) \}\s*2 \{ common: (\S+), on: (\S+) \}\s*\}/m;
      return on(
        "T1",
        replaced(sample, single, "$1 -- wire W90 1.0mm2 600V -- $2") ??
          replaced(sample, double, "$1 -- wire W90 1.0mm2 600V -- $2\n$3 -- wire W91 1.0mm2 600V -- $4"),
      );
    },
  },
  {
    rule: "mains/either-way-round",
    fault: "an outlet that takes the plug either way round",
    elsewhere: "the switch is shown that leaves the primary live",
    change: (sample) =>
      sample.text.includes("dpst") ? undefined : on("T1", added(sample.text, "assume outlet unpolarised")),
  },
  {
    rule: "mains/crossed",
    fault: "the neutral on the chassis",
    change: (sample) => on("W90", added(sample.text, "inN -- wire W90 600V -- chassis")),
  },
  {
    rule: "mains/line-capacitor",
    fault: "an ordinary capacitor to the chassis",
    change: (sample) => on("C90", added(sample.text, "inN -- capacitor C90 4n7 630V film -- chassis")),
  },
  {
    rule: "mains/touch-current",
    fault: "a class Y capacitor of 100 nF",
    change: (sample) =>
      on("C90", added(sample.text, "fused -- capacitor C90 100n Y2 250VAC film -- chassis")),
  },
  {
    rule: "mains/capacitor-bleed",
    fault: "a class X capacitor without a bleeder",
    change: (sample) => on("C90", added(sample.text, "inA -- capacitor C90 470n X2 275VAC film -- inN")),
  },
  {
    rule: "mains/polarity-switch",
    fault: "a ground switch",
    change: (sample) =>
      on(
        "S90",
        added(
          sample.text,
          "switch S90 ground spdt centre-off 250V 3A { common: mid90, 1: fused, 2: inN }",
          "mid90 -- capacitor C90 2n2 Y2 250VAC ceramic -- chassis",
        ),
      ),
  },
  {
    rule: "mains/switch-positions",
    fault: "thirteen switches beside each other",
    change: (sample) =>
      on(
        "S80",
        added(
          sample.text,
          ...Array.from(
            { length: 13 },
            (_, i) => `fused -- switch S${80 + i} mains 250V 10A -- more${80 + i}`,
          ),
          ...Array.from(
            { length: 13 },
            (_, i) => `more${80 + i} -- resistor R${80 + i} 1M 1W metal-film 500V -- inN`,
          ),
        ),
      ),
  },
  ...(
    [
      ["a fuse of 10 A", "T10A"],
      ["a fuse of 32 mA", "T32mA"],
    ] as const
  ).map(
    ([fault, value]): Mutation => ({
      rule: "mains/fuse-value",
      fault,
      change: (sample) => on("F1", replaced(sample, /fuse F1 T[\d.]+m?A/, `fuse F1 ${value}`)),
    }),
  ),
  {
    rule: "mains/fuse-value",
    fault: "a fast fuse",
    change: (sample) => on("F1", replaced(sample, /fuse F1 T([\d.]+m?A)/, "fuse F1 F$1")),
  },
  {
    rule: "mains/fuse-voltage",
    fault: "a fuse of 63 V",
    change: (sample) => on("F1", replaced(sample, /(fuse F1 \S+) 250V/, "$1 63V")),
  },
  {
    rule: "mains/switch-rating",
    fault: "a switch of 50 V",
    change: (sample) => on("S1", replaced(sample, /(switch S1 mains(?: dpst)?) 250V/, "$1 50V")),
  },
  {
    rule: "mains/cord-rating",
    fault: "a cord of 50 mA",
    change: (sample) => on("W1", replaced(sample, /(cord W1 \S+) [\d.]+A/, "$1 50mA")),
  },
  {
    rule: "mains/cord-rating",
    fault: "a cord of bell wire that says that it carries 10 A",
    change: (sample) => on("W1", replaced(sample, /cord W1 \S+ [\d.]+A/, "cord W1 0.2mm2 10A")),
  },
  {
    rule: "mains/wire-insulation",
    fault: "a wire of 50 V",
    change: (sample) =>
      on(
        "W90",
        added(
          sample.text,
          "inN -- wire W90 50V -- more90",
          "more90 -- resistor R90 1M 1W metal-film 500V -- fused",
        ),
      ),
  },
  {
    rule: "mains/cloth-wire",
    fault: "cloth-covered wire",
    change: (sample) =>
      on(
        "W90",
        added(
          sample.text,
          "inN -- wire W90 600V cloth -- more90",
          "more90 -- resistor R90 1M 1W metal-film 500V -- fused",
        ),
      ),
  },
  {
    rule: "mains/colour",
    fault: "green-yellow on the active",
    change: (sample) => on("W1", replaced(sample, /inA( +\S+) (brown|black)/, "inA$1 green-yellow")),
  },
  {
    rule: "mains/anchorage",
    fault: "the cord not anchored",
    change: (sample) => on("W1", replaced(sample, / anchored/, " unanchored")),
  },
  {
    rule: "mains/primary-voltage",
    fault: "a primary for a tenth less",
    change: (sample) =>
      on(
        "T1",
        replaced(
          sample,
          /primary (\d+)V/,
          (_: string, volts: string) => `primary ${Math.round(Number(volts) * 0.9)}V`,
        ),
      ),
  },
];
