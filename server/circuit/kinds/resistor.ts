import { lowestBodyVolts } from "../../facts/resistors.ts";
import { resistorTolerance } from "../../facts/tolerances.ts";
import type { Resistor, ResistorMaterial } from "../model.ts";
import {
  byDefault,
  endA,
  endB,
  made,
  ohms,
  openOhms,
  required,
  tolerance,
  volts,
  watts,
  words,
} from "./common.ts";
import type { KindSpec } from "./kind.ts";

export const resistor: KindSpec = {
  kind: "resistor",
  description: "A fixed resistor.",
  example: "HT3 -- resistor R5 100k 1W metal-film -- p1",
  terminals: [endA, endB],
  path: true,
  facts: {
    numbers: [
      { ...ohms, required: true },
      watts,
      { ...volts, what: "working voltage", example: "350V" },
      tolerance,
    ],
    words: words("material", {
      "carbon-composition": "A moulded carbon rod: drifts upwards with age.",
      "carbon-film": "A carbon film on ceramic.",
      "metal-film": "A metal film on ceramic: close tolerance, little noise.",
      "metal-oxide": "A metal-oxide film: stands heat.",
      wirewound: "Resistance wire on ceramic: for power.",
    }),
  },
  limits: ["power, derated for ambient", "working voltage of the body"],
  build(building) {
    const { base, facts } = building;
    const material = facts.words.material as ResistorMaterial | undefined;
    const power = facts.numbers.watts;
    const body = facts.numbers.volts ? undefined : power && lowestBodyVolts(power.value, material);
    return made<Resistor>(base, {
      kind: "resistor",
      ohms: required(building, "ohms", "resistance", "100k", openOhms, "taken as open"),
      watts: power,
      volts:
        facts.numbers.volts ??
        (body && {
          value: body.volts,
          origin: "default",
          source: `the lowest published for its wattage and kind: ${body.source}`,
        }),
      tolerance: facts.numbers.tolerance ?? byDefault(resistorTolerance[material ?? "unknown"]),
      material,
    });
  },
};
