import { platePeak as practice } from "../../facts/practice.ts";
import { limit, relatedPart } from "../frame/index.ts";
import type { Rule } from "../rule.ts";
import { electrodePlace, rated, sourceOf } from "../shared/sections.ts";
import { outputSections } from "../valve/output.ts";

export const platePeak: Rule = {
  id: "output/plate-peak",
  severity: "error",
  sentence: "Under drive the plate peaks past what it may.",
  why: "The plate swings to about twice the HT: socket, base, wire and transformer must stand it, and a load that is too light makes it more.",
  source: `the valve's sheet where it prints a peak; otherwise ${practice.source}`,
  quiet:
    "Quiet up to the published peak; where no sheet prints one, past 2.2 times the HT it is a warning and below that unchecked.",
  bad: `amp "A load far too light"
source B1 300V { plus: HT, minus: gnd }
valve V1 EL84 { plate: pA, screen: HT, grid: g1, cathode: k }
valve V2 EL84 { plate: pB, screen: HT, grid: g2, cathode: k }
g1 -- resistor R1 470k 0.5W -- gnd
g2 -- resistor R2 470k 0.5W -- gnd
k -- resistor R3 130R 5W wirewound -- gnd
k -- capacitor C1 220u 25V electrolytic -- gnd
output-transformer T1 20W {
  plates  8k 280R { pA HT pB }
  speaker 8R 0.5R { spk gnd }
}
spk -- speaker LS1 8R 30W -- gnd
`,
  good: `amp "Its load"
source B1 300V { plus: HT, minus: gnd }
valve V1 EL84 { plate: pA, screen: HT, grid: g1, cathode: k }
valve V2 EL84 { plate: pB, screen: HT, grid: g2, cathode: k }
g1 -- resistor R1 470k 0.5W -- gnd
g2 -- resistor R2 470k 0.5W -- gnd
k -- resistor R3 130R 5W wirewound -- gnd
k -- capacitor C1 220u 25V electrolytic -- gnd
output-transformer T1 20W {
  plates  8k 280R { pA HT pB }
  speaker 8R 0.5R { spk gnd }
}
spk -- speaker LS1 8R 30W -- gnd
`,
  *check(context) {
    const { circuit, analysis } = context;
    const idle = analysis.solution("idle", "high");
    const stages = analysis.drive("high");
    for (const { section, transformer } of outputSections(circuit)) {
      const stage = stages.find((entry) => entry.stage === transformer.reference);
      if (!stage) continue;
      const peaks = stage.levels.map(
        (level) => level.readings.get(`${section.key}.plate`)?.peakVolts ?? Number.NaN,
      );
      const peak = Math.max(...peaks.filter((value) => !Number.isNaN(value)));
      if (!Number.isFinite(peak)) continue;
      const place = electrodePlace(section, "plate");
      const bound = rated(section, "platePeakVolts");
      const plateVolts = idle?.readings.get(`${section.key}.plate`)?.volts ?? Number.NaN;
      const common = {
        on: [section.valve.reference, `${section.key}.plate`, transformer.reference],
        place,
        says: `${section.key}'s plate peaks at`,
        value: peak,
        unit: "V" as const,
        state: "drive" as const,
        mains: "high" as const,
        related: [relatedPart(transformer, "works into this")],
      };
      if (bound) {
        const found = limit(context, platePeak, {
          ...common,
          limit: bound.value,
          limitIs: `${bound.words} for the peak`,
          source: sourceOf(section.facts, bound.block),
          todo: "A heavier load, or less drive.",
        });
        if (found) yield found;
        continue;
      }
      if (!(plateVolts > 0)) continue;
      if (peak > practice.ratio * plateVolts) {
        const found = limit(context, platePeak, {
          ...common,
          limit: practice.ratio * plateVolts,
          limitIs: `practice plans for about twice the HT, at most`,
          severity: "warning",
          source: practice.source,
          todo: "Look at the load: it is lighter than the stage is made for.",
        });
        if (found) yield found;
      } else context.unchecked(section.valve.reference, "peak plate volts (no limit is published)", place);
    }
  },
};
