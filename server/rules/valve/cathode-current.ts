import type { NetIndex } from "../../circuit/model.ts";
import { limit, listed, relatedPart } from "../frame/index.ts";
import type { Finding, Rule, RuleContext } from "../rule.ts";
import { alike } from "../shared/alike.ts";
import {
  amplifying,
  electrodePlace,
  noLimit,
  rated,
  type Section,
  sourceOf,
  whereOf,
} from "../shared/sections.ts";
import { worstRated } from "../shared/worst-near.ts";
import { cathodeResistors } from "./bias.ts";
import { drivenAmps, drivenState } from "./driven.ts";
import { hottestSettings, readingAtEnd } from "./hot-end.ts";
import { atHotEnd } from "./hot-end-finding.ts";
import { publishedCathodeAmps } from "./published.ts";

export const cathodeCurrent: Rule = {
  id: "valve/cathode-current",
  severity: "error",
  sentence: "The cathode gives more current than the sheet allows.",
  why: "A cathode worked past its current is stripped of its coating, and the valve is soon low.",
  source: "the valve's sheet; IEC 60134 for what it is held against",
  quiet:
    "Quiet up to the published direct current, full drive's average included, or up to what the sheet's own operations draw at full signal; unchecked where no figure is printed (6L6GC, 6V6GT), and where a detector diode of the same cathode stands above it.",
  bad: `amp "An EL84 past 65 mA"
source B1 165V { plus: HT, minus: gnd }
HT -- resistor R4 220R 1W -- s1
valve V1 EL84 { plate: HT, screen: s1, grid: g1, cathode: k1 }
g1 -- resistor R2 470k 0.5W -- gnd
k1 -- resistor R3 22R 5W wirewound -- gnd
`,
  good: `amp "An EL84 within it"
source B1 250V { plus: HT, minus: gnd }
HT -- resistor R4 220R 1W -- s1
valve V1 EL84 { plate: HT, screen: s1, grid: g1, cathode: k1 }
g1 -- resistor R2 470k 0.5W -- gnd
k1 -- resistor R3 180R 5W wirewound -- gnd
`,
  *check(context) {
    const all: Finding[] = [];
    for (const section of amplifying(context.circuit)) {
      yield;
      if (section.cathode === undefined || !section.facts) continue;
      const bound = rated(section, "cathodeAmps");
      const place = electrodePlace(section, "cathode");
      const diodes = conductingDiodes(context, section);
      if (diodes.length > 0)
        context.unchecked(
          section.valve.reference,
          `the current of ${listed(diodes)} (taken to draw nothing)`,
          electrodePlace(section, diodes[0]),
        );
      if (!bound) {
        context.unchecked(section.valve.reference, `cathode current (${noLimit(section)})`, place);
        continue;
      }
      const where = whereOf(bound.block);
      const still = worstRated(
        context.analysis,
        section.valve.reference,
        `${section.key}.cathode`,
        "amps",
        bound,
      );
      const plate = drivenAmps(context.analysis, `${section.key}.plate`, where);
      const screen = drivenAmps(context.analysis, `${section.key}.screen`, where);
      const cathode = drivenAmps(context.analysis, `${section.key}.cathode`, where);
      const driven = cathode?.value ?? (plate ? plate.value + (screen?.value ?? 0) : undefined);
      if (!still && driven === undefined) continue;
      const point = cathode ?? plate;
      // What drive adds by a rounding is idle's own.
      const byDrive = point !== undefined && driven !== undefined && driven > 1.01 * (still?.value ?? 0);
      const shown = publishedCathodeAmps(section);
      const own =
        byDrive && !((still?.value ?? 0) > bound.value) && shown && shown.value > bound.value
          ? shown
          : undefined;
      const found = limit(context, cathodeCurrent, {
        on: [section.valve.reference, `${section.key}.cathode`],
        place,
        value: Math.max(still?.value ?? 0, driven ?? 0),
        limit: own?.value ?? bound.value,
        unit: "A",
        state: byDrive ? drivenState(point).state : still?.state,
        mains: byDrive ? point.mains : still?.mains,
        source: own?.source ?? sourceOf(section.facts, bound.block),
        words: () => ({
          says: `${section.key}'s cathode gives`,
          limitIs: own ? "the most that the sheet's own operations draw" : bound.words,
          stateWords: byDrive ? drivenState(point).stateWords : undefined,
          estimate: still?.estimate,
          todo: "More bias, a higher load, or a larger valve.",
          related: cathodeResistors(context.circuit, section.cathode as NetIndex)
            .slice(0, 2)
            .map((part) => relatedPart(part, `${part.reference} is in the cathode's lead`)),
        }),
      });
      const turned =
        found ??
        atHotEnd(context, cathodeCurrent, {
          section,
          electrode: "cathode",
          reading: "amps",
          bound,
          says: `${section.key}'s cathode gives`,
          hot: readingAtEnd(
            context.analysis,
            hottestSettings(context.circuit, context.analysis, section),
            `${section.key}.cathode`,
            "amps",
            bound,
          ),
        });
      if (turned) all.push(turned);
    }
    yield* alike(all);
  },
};

/** Detector diodes on the cathode whose plates stand above it at idle. */
function conductingDiodes({ analysis }: RuleContext, { section, cathode }: Section): readonly string[] {
  const volts = analysis.solution("idle", "nominal")?.volts;
  return ["diode1", "diode2"].filter((name) => {
    const net = section.electrodes.get(name);
    return net !== undefined && cathode !== undefined && (volts?.[net] ?? 0) > (volts?.[cathode] ?? 0);
  });
}
