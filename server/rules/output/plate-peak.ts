import { platePeak as practice } from "../../facts/practice.ts";
import { limit, relatedPart } from "../frame/index.ts";
import type { Finding, Rule } from "../rule.ts";
import { alike } from "../shared/alike.ts";
import { electrodePlace, noLimit, rated, sourceOf } from "../shared/sections.ts";
import { outputSections } from "../valve/output.ts";

/** Fewer volts on a plate are a supply that does not arrive. */
const LEAST_VOLTS = 10;

export const platePeak: Rule = {
  id: "output/plate-peak",
  severity: "error",
  sentence: "Under drive the plate peaks past what it may.",
  why: "The plate swings to about twice the HT: socket, base, wire and transformer must stand it, and a load that is too light makes it more.",
  source: `the valve's sheet where it prints a peak; otherwise ${practice.source}`,
  quiet:
    "Quiet up to the published peak; where no sheet prints one, past 2.05 times its own volts at rest it is a warning and below that unchecked.",
  bad: `amp "A load far too light"
source B1 250V { plus: HT, minus: gnd }
HT -- resistor R5 220R 1W -- s1
valve V1 EL84 { plate: p1, screen: s1, grid: g1, cathode: k1 }
g1 -- resistor R1 470k 0.5W -- gnd
k1 -- resistor R3 180R 3W wirewound -- gnd
output-transformer T1 8W {
  plates  40k 60mA 260R { p1 HT }
  speaker 8R 0.5R      { spk gnd }
}
spk -- speaker LS1 8R 15W -- gnd
`,
  good: `amp "Its load"
source B1 250V { plus: HT, minus: gnd }
HT -- resistor R5 220R 1W -- s1
valve V1 EL84 { plate: p1, screen: s1, grid: g1, cathode: k1 }
g1 -- resistor R1 470k 0.5W -- gnd
k1 -- resistor R3 180R 3W wirewound -- gnd
output-transformer T1 8W {
  plates  5k 60mA 260R { p1 HT }
  speaker 8R 0.5R      { spk gnd }
}
spk -- speaker LS1 8R 15W -- gnd
`,
  *check(context) {
    const all: Finding[] = [];
    const { circuit, analysis } = context;
    const idle = analysis.solution("idle", "high");
    const stages = analysis.drive("high");
    for (const { section, transformer } of outputSections(circuit)) {
      yield;
      const stage = stages.find((entry) => entry.stage === transformer.reference);
      if (!stage) continue;
      const peaks = stage.levels.map(
        (level) => level.readings.get(`${section.key}.plate`)?.peakVolts ?? Number.NaN,
      );
      const peak = Math.max(...peaks.filter((value) => !Number.isNaN(value)));
      if (!Number.isFinite(peak)) continue;
      // Without its HT there is nothing to hold it against.
      if (!((idle?.readings.get(`${section.key}.plate`)?.volts ?? Number.NaN) > LEAST_VOLTS)) continue;
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
        if (found) all.push(found);
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
        if (found) all.push(found);
      } else context.unchecked(section.valve.reference, `peak plate volts (${noLimit(section)})`, place);
    }
    yield* alike(all);
  },
};
