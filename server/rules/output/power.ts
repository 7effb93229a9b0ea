import { finding, partsOf, quantity } from "../frame/index.ts";
import type { Rule } from "../rule.ts";
import { outputSections } from "../valve/output.ts";

/** Less is no power: the stage is dead, which is told where it is. */
const LEAST_WATTS = 1e-3;

export const power: Rule = {
  id: "output/power",
  severity: "advice",
  sentence: "What the stage delivers, as computed.",
  why: "It is what the loudspeaker, the output transformer and the supply have to be chosen for.",
  source: "quasi-static drive by a sine to the onset of grid current or clipping, the supply sagging with it",
  quiet:
    "Quiet where no output stage can be driven: without an output transformer, without its load, or with valves whose law is not known. It is information, never a fault.",
  bad: `amp "A pair at work"
source B1 300V { plus: HT, minus: gnd }
HT -- resistor R4 220R 1W -- sA
HT -- resistor R5 220R 1W -- sB
valve V1 EL84 { plate: pA, screen: sA, grid: g1, cathode: k }
valve V2 EL84 { plate: pB, screen: sB, grid: g2, cathode: k }
g1 -- resistor R1 470k 0.5W -- gnd
g2 -- resistor R2 470k 0.5W -- gnd
k -- resistor R3 150R 5W wirewound -- gnd
k -- capacitor C1 220u 25V electrolytic -- gnd
output-transformer T1 20W {
  plates  8k 280R { pA HT pB }
  speaker 8R 0.5R { spk gnd }
}
spk -- speaker LS1 8R 30W -- gnd
`,
  good: `amp "No output stage"
source B1 300V { plus: HT, minus: gnd }
HT -- resistor R1 100k 1W 500V -- p1
valve V1 ECC83 { a { plate: p1, grid: g1, cathode: k1 } }
g1 -- resistor R2 1M 0.5W -- gnd
k1 -- resistor R3 1k5 0.5W -- gnd
`,
  *check(context) {
    const { circuit, analysis } = context;
    const stages = analysis.drive("nominal");
    for (const transformer of partsOf(circuit, "output-transformer")) {
      yield;
      const valves = outputSections(circuit).filter((entry) => entry.transformer === transformer);
      if (valves.length === 0) continue;
      const stage = stages.find((entry) => entry.stage === transformer.reference);
      if (!stage || !Number.isFinite(stage.watts)) {
        context.unchecked(
          transformer.reference,
          "output under drive (the stage could not be driven)",
          transformer.referencePlace,
        );
        continue;
      }
      if (!(stage.watts > LEAST_WATTS)) continue;
      yield finding(power, {
        message: `${transformer.reference} delivers ${quantity(stage.watts, "W")} at the onset of ${stage.limit === "clipping" ? "clipping" : "grid current"}, at nominal mains.`,
        on: transformer.reference,
        place: transformer.referencePlace,
        state: "drive",
        mains: "nominal",
        value: stage.watts,
        unit: "W",
      });
    }
  },
};
