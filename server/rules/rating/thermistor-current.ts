import { factPlace, limit, partsOf, worst } from "../frame/index.ts";
import type { Rule } from "../rule.ts";

/** Less flows nowhere that a thermistor would be put. */
const LEAST_AMPS = 1e-4;

export const thermistorCurrent: Rule = {
  id: "rating/thermistor-current",
  severity: "error",
  sentence: "The inrush thermistor carries more current than it is made for.",
  why: "It keeps its resistance low by its own heat, and runs hot enough to burn what it touches: past its current it cracks, open or short.",
  source: "the thermistor's rated steady current, rms",
  quiet:
    "Quiet up to the rating, without signal: what full drive adds comes and goes with the music. Without a written current it is " +
    "unchecked.",
  bad: `amp "Thermistor too small"
source B1 300V { plus: HT, minus: gnd }
HT -- thermistor TH1 47R hot 5R 50mA -- x -- resistor R1 3k 100W wirewound -- gnd
`,
  good: `amp "Thermistor large enough"
source B1 300V { plus: HT, minus: gnd }
HT -- thermistor TH1 47R hot 5R 500mA -- x -- resistor R1 3k 100W wirewound -- gnd
`,
  *check(context) {
    for (const part of partsOf(context.circuit, "thermistor")) {
      yield;
      const most = worst(context.analysis, part.reference, "rms", { states: ["cold", "standby", "idle"] });
      if (!most || most.value < LEAST_AMPS) continue;
      if (!part.amps) {
        context.unchecked(part.reference, "current (no rating written)", part.referencePlace);
        continue;
      }
      const found = limit(context, thermistorCurrent, {
        on: part.reference,
        place: factPlace(part, "amps"),
        says: `${part.reference} carries`,
        value: most.value,
        limit: part.amps.value,
        limitIs: "rated",
        unit: "A",
        state: most.state,
        mains: most.mains,
        estimate: most.estimate,
        todo: "One made for more current.",
      });
      if (found) yield found;
    }
  },
};
