import { added, type Mutation, on } from "./mutation.ts";

const OUTPUT: Readonly<Record<string, string>> = {
  "fantail-5": "V2",
  "chickadee-4": "V2",
  "brolga-35": "V3",
};

/** Readings that do not fit. */
export const bench: readonly Mutation[] = [
  {
    rule: "bench/reading",
    fault: "a reading of half the high tension",
    change: (sample) => on("HT1", added(sample.text, "measured HT1 160V")),
  },
  {
    rule: "bench/reading-impossible",
    fault: "a reading of 5 kV",
    change: (sample) => on("HT1", added(sample.text, "measured HT1 5000V")),
  },
  {
    rule: "bench/bias",
    fault: "a cathode current far too large",
    change: (sample) =>
      OUTPUT[sample.name]
        ? on(OUTPUT[sample.name], added(sample.text, `measured ${OUTPUT[sample.name]}.cathode 150mA`))
        : undefined,
  },
];
