import { added, type Mutation, on, replaced } from "./mutation.ts";

/** Faults of the protective earth. */
export const earth: readonly Mutation[] = [
  {
    rule: "earth/missing",
    fault: "a cord of two cores",
    change: (sample) => on("chassis", replaced(sample, /^ +earth: .*\n/m, "")?.replace(/^inE +-- .*\n/m, "")),
  },
  {
    rule: "earth/missing",
    fault: "an earth core that ends nowhere",
    change: (sample) => on("chassis", replaced(sample, /^inE +-- .*\n/m, "")),
  },
  {
    rule: "earth/own-fixing",
    fault: "the fixing shared",
    change: (sample) => on("E1", replaced(sample, /bond E1 own-fixing/, "bond E1 shared-fixing")),
  },
  {
    rule: "earth/own-fixing",
    fault: "a second lead on the earth core",
    change: (sample) => on("W90", added(sample.text, "inE -- wire W90 1.0mm2 -- gnd")),
  },
  {
    rule: "earth/longest",
    fault: "an earth core of 30 mm",
    change: (sample) => on("W1", replaced(sample, /inE \d+mm/, "inE 30mm")),
  },
  {
    rule: "earth/switched",
    fault: "a switch in the earth",
    change: (sample) =>
      on(
        "S90",
        replaced(
          sample,
          /^inE -- (bond E1 own-fixing) -- chassis/m,
          "inE -- $1 -- lug90\nlug90 -- switch S90 lift 250V 10A -- chassis",
        ),
      ),
  },
  {
    rule: "earth/floating-metal",
    fault: "a panel without a bond",
    change: (sample) => on("panel", added(sample.text, "metal panel")),
  },
  {
    rule: "earth/cross-section",
    fault: "a thin earth core",
    change: (sample) => on("W1", replaced(sample, /(inE +\d+mm)/, "$1 0.5mm2")),
  },
  {
    rule: "earth/common-lift",
    fault: "circuit common lifted by a resistor",
    // A jack that touches the chassis would tie common to it: all are insulated first.
    change: (sample) =>
      on(
        "R90",
        replaced(
          { ...sample, text: sample.text.replace(/jack (\w+)(?! insulated) \{/g, "jack $1 insulated {") },
          /^gnd -- bond E2.*$/m,
          "gnd -- resistor R90 100R 5W metal-film -- chassis",
        ),
      ),
  },
  {
    rule: "earth/common-lift",
    fault: "a lift with the bond left in beside it",
    change: (sample) =>
      sample.text.includes("gnd -- bond E2")
        ? on("R90", added(sample.text, "gnd -- resistor R90 10R 5W wirewound -- chassis"))
        : undefined,
  },
  {
    rule: "earth/touch-voltage",
    fault: "a jack on the HT",
    change: (sample) => on("J90", added(sample.text, "jack J90 { tip: HT3, sleeve: gnd }")),
  },
  {
    rule: "earth/record",
    fault: "an earth of five ohms, measured",
    change: (sample) => on("earth-continuity", added(sample.text, "measured earth-continuity 5R")),
  },
];
