import { thermistorTolerance } from "../../facts/tolerances.ts";
import type { Thermistor } from "../model.ts";
import { amps, byDefault, endA, endB, made, ohms, openOhms, required, tolerance } from "./common.ts";
import type { KindSpec } from "./kind.ts";

export const thermistor: KindSpec = {
  kind: "thermistor",
  description: "An inrush thermistor: its resistance falls as it warms.",
  example: "fused -- thermistor TH1 10R hot 1R 3A -- live",
  terminals: [endA, endB],
  path: true,
  facts: {
    numbers: [
      { ...ohms, what: "cold resistance", example: "10R", required: true, labels: ["cold", "resistance"] },
      {
        ...ohms,
        field: "hotOhms",
        what: "hot resistance",
        example: "hot 1R",
        labels: ["hot"],
        labelled: true,
      },
      amps,
      tolerance,
    ],
    words: { ntc: { field: "law", value: "ntc", description: "Falls as it warms." } },
  },
  limits: ["current"],
  build(building) {
    const { base, facts } = building;
    return made<Thermistor>(base, {
      kind: "thermistor",
      ohms: required(building, "ohms", "cold resistance", "10R", openOhms, "taken as open"),
      hotOhms: facts.numbers.hotOhms,
      amps: facts.numbers.amps,
      tolerance: facts.numbers.tolerance ?? byDefault(thermistorTolerance),
    });
  },
};
