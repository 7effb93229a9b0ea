import { type Mutation, on, only, replaced, without } from "./mutation.ts";

const SINGLES = ["fantail-5", "chickadee-4"];

/** Faults of the output stage. */
export const output: readonly Mutation[] = [
  {
    rule: "output/winding-ends",
    fault: "the winding's middle and one end exchanged",
    change: (sample) => {
      const text = sample.text.replace(/(plates +[^{]*\{ )(\w+) (\w+) (\w+)( \})/, "$1$2 $4 $3$5");
      return text === sample.text ? undefined : on("T2", text);
    },
    allow: {
      "valve/": "one side has no supply of its own",
      "rating/": "one side has no supply of its own",
      "supply/": "one side has no supply of its own",
    },
  },
  {
    rule: "output/load-mismatch",
    fault: "a loudspeaker of four times the impedance",
    change: (sample) => on("LS1", replaced(sample, /speaker LS1 (\d+)R/, "speaker LS1 64R")),
    allow: { "output/plate-peak": "the plate swings further into it" },
  },
  {
    rule: "output/no-load-path",
    fault: "the loudspeaker left out",
    change: (sample) => on("T2", without(sample, /speaker LS1/)),
  },
  {
    rule: "output/plate-peak",
    fault: "a primary of ten times the impedance",
    change: only(["fantail-5"], (sample) =>
      on("V2", replaced(sample, "plates  5k 60mA", "plates  50k 60mA")),
    ),
  },
  {
    rule: "output/transformer-power",
    fault: "an output transformer of a watt",
    change: (sample) => on("T2", replaced(sample, /output-transformer T2 \d+W/, "output-transformer T2 1W")),
  },
  {
    rule: "output/transformer-current",
    fault: "a gap for 15 mA",
    change: only(SINGLES, (sample) => on("T2", replaced(sample, "plates  5k 60mA", "plates  5k 15mA"))),
  },
];
