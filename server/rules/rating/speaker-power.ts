import { factPlace, limit, partsOf, relatedPart } from "../frame/index.ts";
import { loadBetween, loadsOf } from "../output/loads.ts";
import type { Rule } from "../rule.ts";
import { practice } from "../shared/margin.ts";

export const speakerPower: Rule = {
  id: "rating/speaker-power",
  severity: "error",
  sentence: "The loudspeaker is rated for less than the amplifier gives.",
  why: "Its coil burns or its former jams, and with the coil gone the output valves have no load.",
  source: "the loudspeaker's rated power against the computed output at the onset of clipping",
  quiet:
    "Quiet where the rating is at least the output at nominal mains; several loudspeakers share it by their impedance.",
  bad: `amp "Ten watts into a five-watt loudspeaker"
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
spk -- speaker LS1 8R 5W -- gnd
`,
  good: `amp "Ten watts into thirty"
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
      const stage = stages.find((entry) => entry.stage === transformer.reference);
      if (!stage || !(stage.watts > 0)) continue;
      const loads = loadsOf(context.circuit, transformer).filter((load) => load.speakers.length > 0);
      const siemens = loads.reduce((sum, load) => sum + load.tapOhms / load.ohms, 0);
      const between = loadBetween(context.circuit, transformer);
      const seen = new Set<string>();
      for (const load of loads) {
        const share = load.tapOhms / load.ohms / (siemens || 1);
        for (const speaker of load.speakers) {
          // Between two taps it hangs on both.
          if (seen.has(speaker.reference)) continue;
          seen.add(speaker.reference);
          if (!speaker.watts) {
            context.unchecked(
              speaker.reference,
              "loudspeaker power (no watts written)",
              speaker.referencePlace,
            );
            continue;
          }
          const watts = between
            ? (stage.watts * (between.shares.get(speaker) ?? 0)) / between.drawn
            : stage.watts * share * partOf(load.speakers, speaker.reference, load.ohms);
          const found = limit(context, speakerPower, {
            on: [speaker.reference, transformer.reference],
            place: factPlace(speaker, "watts"),
            says: `${speaker.reference} is given`,
            value: watts,
            limit: speaker.watts.value,
            unit: "W",
            ...practice(context, "speaker"),
            state: "drive",
            mains: "nominal",
            todo: "A loudspeaker of more watts, or two that share it.",
            related: [relatedPart(transformer, "the output stage drives it through this")],
          });
          if (found) yield found;
        }
      }
    }
  },
};

/** Share of a tap's power: alike for alike; in parallel the lower impedance takes more, in series the higher. */
function partOf(
  speakers: readonly { readonly reference: string; readonly ohms: { readonly value: number } }[],
  reference: string,
  total: number,
): number {
  const own = speakers.find((speaker) => speaker.reference === reference)?.ohms.value ?? 1;
  const sum = speakers.reduce((all, speaker) => all + speaker.ohms.value, 0);
  const inSeries = total >= Math.max(...speakers.map((speaker) => speaker.ohms.value)) && speakers.length > 1;
  if (inSeries) return own / sum;
  const siemens = speakers.reduce((all, speaker) => all + 1 / speaker.ohms.value, 0);
  return 1 / own / siemens;
}
