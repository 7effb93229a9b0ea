import { computedOutput } from "../../facts/practice.ts";
import { factPlace, limit, partsOf } from "../frame/index.ts";
import type { Rule } from "../rule.ts";
import { outputSections } from "../valve/output.ts";

export const transformerPower: Rule = {
  id: "output/transformer-power",
  severity: "error",
  sentence: "The output transformer is rated for less than the stage gives.",
  why: "Its core saturates in the bass, where the primary is then nearly a short: the valves take what the loudspeaker does not.",
  source: "the output transformer's rated watts against the computed output",
  quiet:
    "Quiet up to the rating at nominal mains; within 15 % above it, as far as the computed output can be trusted, advice. Without written watts it is unchecked.",
  bad: `amp "A five-watt transformer on a pair"
source B1 300V { plus: HT, minus: gnd }
HT -- resistor R4 220R 1W -- sA
HT -- resistor R5 220R 1W -- sB
valve V1 EL84 { plate: pA, screen: sA, grid: g1, cathode: k }
valve V2 EL84 { plate: pB, screen: sB, grid: g2, cathode: k }
g1 -- resistor R1 470k 0.5W -- gnd
g2 -- resistor R2 470k 0.5W -- gnd
k -- resistor R3 150R 5W wirewound -- gnd
k -- capacitor C1 220u 25V electrolytic -- gnd
output-transformer T1 5W {
  plates  8k 280R { pA HT pB }
  speaker 8R 0.5R { spk gnd }
}
spk -- speaker LS1 8R 30W -- gnd
`,
  good: `amp "Twenty watts on a pair"
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
  *check(context) {
    const stages = context.analysis.drive("nominal");
    for (const transformer of partsOf(context.circuit, "output-transformer")) {
      yield;
      if (!outputSections(context.circuit).some((entry) => entry.transformer === transformer)) continue;
      const stage = stages.find((entry) => entry.stage === transformer.reference);
      if (!transformer.watts) {
        context.unchecked(
          transformer.reference,
          "output power (no watts written)",
          transformer.referencePlace,
        );
        continue;
      }
      if (!stage || !(stage.watts > 0)) continue;
      const found = limit(context, transformerPower, {
        on: transformer.reference,
        place: factPlace(transformer, "watts"),
        says: `${transformer.reference} passes on`,
        value: stage.watts,
        limit: transformer.watts.value,
        unit: "W",
        state: "drive",
        mains: "nominal",
        severity: stage.watts > transformer.watts.value * computedOutput.share ? "error" : "advice",
        todo: "A transformer of more watts.",
      });
      if (found) yield found;
    }
  },
};
