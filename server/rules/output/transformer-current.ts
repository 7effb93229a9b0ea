import { limit, partsOf, relatedPart, worstOf } from "../frame/index.ts";
import type { Rule } from "../rule.ts";
import { isSingleEnded, outputSections } from "../valve/output.ts";

export const transformerCurrent: Rule = {
  id: "output/transformer-current",
  severity: "error",
  sentence: "The single-ended output transformer carries more standing current than its gap is made for.",
  why: "The core saturates: inductance and bass go, and the valve works into a short at every low note.",
  source: "the transformer's rated standing current",
  quiet:
    "Quiet up to the rating at nominal mains, and on push-pull stages, where the two sides cancel. Without a written current it is unchecked.",
  bad: `amp "30 mA of gap, 48 mA of valve"
source B1 250V { plus: HT, minus: gnd }
HT -- resistor R5 220R 1W -- s1
valve V1 EL84 { plate: p1, screen: s1, grid: g1, cathode: k1 }
g1 -- resistor R1 470k 0.5W -- gnd
k1 -- resistor R3 150R 3W wirewound -- gnd
output-transformer T1 8W {
  plates  5k 30mA 260R { p1 HT }
  speaker 8R 0.5R      { spk gnd }
}
spk -- speaker LS1 8R 15W -- gnd
`,
  good: `amp "60 mA of gap"
source B1 250V { plus: HT, minus: gnd }
HT -- resistor R5 220R 1W -- s1
valve V1 EL84 { plate: p1, screen: s1, grid: g1, cathode: k1 }
g1 -- resistor R1 470k 0.5W -- gnd
k1 -- resistor R3 150R 3W wirewound -- gnd
output-transformer T1 8W {
  plates  5k 60mA 260R { p1 HT }
  speaker 8R 0.5R      { spk gnd }
}
spk -- speaker LS1 8R 15W -- gnd
`,
  *check(context) {
    for (const transformer of partsOf(context.circuit, "output-transformer")) {
      yield;
      const { plates } = transformer;
      if (!plates || !isSingleEnded(transformer)) continue;
      const valves = outputSections(context.circuit).filter((entry) => entry.transformer === transformer);
      if (valves.length === 0) continue;
      if (!plates.amps) {
        context.unchecked(transformer.reference, "standing current (none written)", plates.place);
        continue;
      }
      const most = worstOf(
        context.analysis,
        { states: ["idle", "drive"], levels: ["nominal"], tolerance: "nominal" },
        (solution) =>
          valves.reduce(
            (sum, { section }) => sum + (solution.readings.get(`${section.key}.plate`)?.amps ?? Number.NaN),
            0,
          ),
      );
      if (!most) continue;
      const found = limit(context, transformerCurrent, {
        on: [transformer.reference, ...valves.map(({ section }) => section.valve.reference)],
        place: plates.place,
        says: `${transformer.reference} carries a standing current of`,
        value: most.value,
        limit: plates.amps.value,
        unit: "A",
        state: most.state,
        mains: most.mains,
        todo: "A transformer gapped for it, or more bias.",
        related: valves.map(({ section }) => relatedPart(section.valve, `${section.key} draws it`)),
      });
      if (found) yield found;
    }
  },
};
