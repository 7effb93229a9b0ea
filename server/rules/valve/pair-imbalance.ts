import { pairImbalance as practice } from "../../facts/practice.ts";
import { limit, listed, partsOf, quantity, relatedPart } from "../frame/index.ts";
import type { Rule } from "../rule.ts";
import { cathodeResistors } from "./bias.ts";
import { outputSections } from "./output.ts";

export const pairImbalance: Rule = {
  id: "valve/pair-imbalance",
  severity: "warning",
  sentence: "The two sides of the push-pull stage draw different currents.",
  why: "The difference magnetises the output transformer's core, which is made without a gap: bass goes, hum comes, and one side wears out first.",
  source: practice.source,
  quiet:
    "Quiet up to 10 % of the mean: the valves are taken as alike, so what is left is the parts around them. Types that differ on purpose are told.",
  bad: `amp "One cathode resistor is another's"
source B1 300V { plus: HT, minus: gnd }
HT -- resistor R4 220R 1W -- sA
HT -- resistor R5 220R 1W -- sB
valve V1 EL84 { plate: pA, screen: sA, grid: g1, cathode: k1 }
valve V2 EL84 { plate: pB, screen: sB, grid: g2, cathode: k2 }
g1 -- resistor R1 470k 0.5W -- gnd
g2 -- resistor R2 470k 0.5W -- gnd
k1 -- resistor R3 270R 3W wirewound -- gnd
k2 -- resistor R6 390R 3W wirewound -- gnd
output-transformer T1 20W {
  plates  8k 280R { pA HT pB }
  speaker 8R 0.5R { spk gnd }
}
spk -- speaker LS1 8R 30W -- gnd
`,
  good: `amp "Alike"
source B1 300V { plus: HT, minus: gnd }
HT -- resistor R4 220R 1W -- sA
HT -- resistor R5 220R 1W -- sB
valve V1 EL84 { plate: pA, screen: sA, grid: g1, cathode: k1 }
valve V2 EL84 { plate: pB, screen: sB, grid: g2, cathode: k2 }
g1 -- resistor R1 470k 0.5W -- gnd
g2 -- resistor R2 470k 0.5W -- gnd
k1 -- resistor R3 270R 3W wirewound -- gnd
k2 -- resistor R6 270R 3W wirewound -- gnd
output-transformer T1 20W {
  plates  8k 280R { pA HT pB }
  speaker 8R 0.5R { spk gnd }
}
spk -- speaker LS1 8R 30W -- gnd
`,
  *check(context) {
    const { circuit, analysis } = context;
    const idle = analysis.solution("idle", "nominal");
    if (!idle?.solved) return;
    for (const transformer of partsOf(circuit, "output-transformer")) {
      yield;
      const own = outputSections(circuit).filter(
        (entry) => entry.transformer === transformer && entry.pushPull,
      );
      const sides = [0, 1].map((side) => own.filter((entry) => entry.side === side));
      if (sides.some((side) => side.length === 0)) continue;
      const [first, second] = sides.map((side) =>
        side.reduce(
          (sum, { section }) => sum + (idle.readings.get(`${section.key}.plate`)?.amps ?? Number.NaN),
          0,
        ),
      );
      const mean = (first + second) / 2;
      if (!(mean > 1e-4)) continue;
      // A side that draws nothing at all is open or unknown somewhere: that is told where it is.
      if (Math.min(first, second) < 1e-6) {
        context.unchecked(
          transformer.reference,
          "balance of the pair (one side draws nothing)",
          transformer.referencePlace,
        );
        continue;
      }
      const types = [...new Set(own.flatMap(({ section }) => section.facts?.type ?? []))];
      const names = sides.map((side) => listed(side.map((entry) => entry.section.key)));
      const found = limit(context, pairImbalance, {
        on: [...own.map((entry) => entry.section.valve.reference), transformer.reference],
        place: own[0].section.valve.referencePlace,
        says: `${names[0]} ${sides[0].length > 1 ? "draw" : "draws"} ${quantity(first, "A")} and ${names[1]} ${quantity(second, "A")}: they differ by`,
        value: (100 * Math.abs(first - second)) / mean,
        limit: 100 * practice.share,
        limitIs: "practice keeps a pair within",
        unit: "%",
        state: "idle",
        mains: "nominal",
        todo:
          types.length > 1
            ? `They are of different types (${listed(types)}): fit a matched pair of one.`
            : "Look at what the two sides have that is not alike.",
        related: own
          .flatMap(({ section }) =>
            section.cathode === undefined ? [] : cathodeResistors(circuit, section.cathode),
          )
          .slice(0, 4)
          .map((part) => relatedPart(part, `${part.reference} is in a cathode's lead`)),
      });
      if (found) yield found;
    }
  },
};
