import { loadRatio } from "../../facts/practice.ts";
import { finding, listed, partsOf, quantity, relatedPart } from "../frame/index.ts";
import type { Rule } from "../rule.ts";
import { type Between, loadBetween, loadsOf } from "./loads.ts";
import { primaryLoad } from "./primary-load.ts";

export const loadMismatch: Rule = {
  id: "output/load-mismatch",
  severity: "warning",
  sentence:
    "The loudspeaker does not match the tap that it is on, or the primary is far from what its valves ask for.",
  why: "Too low a load makes the valves dissipate what they cannot deliver; too high a one lets the plates swing further than the transformer is insulated for.",
  source: loadRatio.source,
  quiet:
    "Quiet between half and twice the tap's impedance, both ends included; a mismatch inside that is told as advice past a third. A primary is told, as advice, past three times outside " +
    "the loads of its valves' own sheets; of valves whose sheets give none it is not looked at.",
  bad: `amp "16 ohms on the 4 ohm tap"
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
  speaker 4R 0.5R { spk gnd }
}
spk -- speaker LS1 16R 30W -- gnd
`,
  good: `amp "8 ohms on the 8 ohm tap"
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
    for (const transformer of partsOf(context.circuit, "output-transformer")) {
      yield;
      const primary = primaryLoad(context, loadMismatch, transformer);
      if (primary) yield primary;
      const loads = loadsOf(context.circuit, transformer).filter((load) => load.speakers.length > 0);
      if (loads.length === 0) continue;
      context.checked(transformer.reference);
      // Loads on several taps together: each asks for its part of the stage.
      const between = loadBetween(context.circuit, transformer);
      const drawn = between?.drawn ?? loads.reduce((sum, load) => sum + load.tapOhms / load.ohms, 0);
      const ratio = 1 / drawn;
      if (!Number.isFinite(ratio) || (ratio <= loadRatio.near && ratio >= 1 / loadRatio.near)) continue;
      const past = ratio < loadRatio.least * (1 - 1e-6) || ratio > loadRatio.most * (1 + 1e-6);
      const speakers = [...new Set(loads.flatMap((load) => load.speakers))];
      const plates = transformer.plates?.ohms.value;
      const [first] = loads;
      const seen =
        plates === undefined
          ? ""
          : `; the plates see ${quantity(plates * ratio, "Ω")} instead of ${quantity(plates, "Ω")}`;
      const what = between
        ? straightWords(transformer.reference, between)
        : loads.length === 1
          ? `${quantity(first.ohms, "Ω")} on the ${quantity(first.tapOhms, "Ω")} tap of ${transformer.reference}`
          : `${listed(loads.map((load) => `${quantity(load.ohms, "Ω")} on ${quantity(load.tapOhms, "Ω")}`))} of ${transformer.reference}`;
      yield finding(loadMismatch, {
        severity: past ? "warning" : "advice",
        message:
          `${listed(speakers.map((speaker) => speaker.reference))}: ${what}, ${ratio > 1 ? `${ratio.toFixed(1)} times too high` : `${(1 / ratio).toFixed(1)} times too low`}${seen}. ` +
          `${past ? "Practice tolerates 2:1." : "Within the 2:1 that practice tolerates."} Use the tap that is marked for it.`,
        on: [...speakers.map((speaker) => speaker.reference), transformer.reference],
        place: speakers[0].referencePlace,
        value: first.ohms,
        limit: first.tapOhms * (ratio > 1 ? loadRatio.most : loadRatio.least),
        unit: "Ω",
        related: [relatedPart(transformer, "the output transformer")],
      });
    }
  },
};

/** Loudspeakers straight between two points of the winding, each with what the turns there ask for. */
function straightWords(transformer: string, { taps }: Between): string {
  if (taps.size === 0) return `between taps of ${transformer}`;
  return listed(
    [...taps].map(([speaker, { ohms, asks }]) => {
      const own = quantity(speaker.ohms.value, "Ω");
      const [low, high] = ohms.map((tap) => quantity(tap, "Ω"));
      return ohms[0] === 0
        ? `${own} on ${transformer}'s tap of ${high}`
        : `${own} between ${transformer}'s taps of ${low} and ${high}, whose turns ask for ${quantity(asks, "Ω")}`;
    }),
  );
}
