import { chokeTolerance } from "../../facts/tolerances.ts";
import { chokeTimeConstant } from "../../facts/transformers.ts";
import type { Choke } from "../model.ts";
import { amps, byDefault, copperOhms, endA, endB, estimated, made, required, tolerance } from "./common.ts";
import type { KindSpec } from "./kind.ts";

export const choke: KindSpec = {
  kind: "choke",
  description: "A smoothing choke.",
  example: "HT1 -- choke L1 10H 100mA 220R -- HT2",
  terminals: [endA, endB],
  path: true,
  facts: {
    numbers: [
      { field: "henries", unit: "henry", what: "inductance", example: "10H", most: 1e4, required: true },
      amps,
      copperOhms,
      tolerance,
      {
        field: "insulationVolts",
        unit: "volt",
        what: "insulation voltage",
        example: "insulation 1kV",
        labels: ["insulation", "working"],
        most: 1e5,
      },
    ],
    words: {},
  },
  limits: ["direct current"],
  build(building) {
    const { base, facts } = building;
    const henries = required(building, "henries", "inductance", "10H", 10, "10 H taken, common practice");
    return made<Choke>(base, {
      kind: "choke",
      henries,
      amps: facts.numbers.amps,
      ohms:
        facts.numbers.ohms ?? estimated(henries.value / chokeTimeConstant.value, chokeTimeConstant.source),
      tolerance: facts.numbers.tolerance ?? byDefault(chokeTolerance),
    });
  },
};
