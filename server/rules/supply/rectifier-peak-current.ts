import { limit, relatedPart, type Worst } from "../frame/index.ts";
import type { Rule } from "../rule.ts";
import { electrodePlace, rated, sourceOf, whereOf } from "../shared/sections.ts";
import { worstRated } from "../shared/worst-near.ts";
import { drivenSupply } from "./driven.ts";
import { feeding, rectifierValves } from "./rectifiers.ts";

export const rectifierPeakCurrent: Rule = {
  id: "supply/rectifier-peak-current",
  severity: "error",
  sentence: "The rectifier's plates are charged through with more peak current than the sheet allows.",
  why: "The reservoir takes its charge in short gulps: past the peak that the cathode can give, its coating sparks off, and the valve flashes over.",
  source: "the rectifier's sheet: peak plate current",
  quiet: "Quiet up to the published peak, in the steady state; unchecked where no figure is printed.",
  bad: `amp "An EZ80 straight on a stiff winding"
transformer T1 150VA {
  primary 230V 2R              { a b }
  ht      250-0-250V 200mA 10R { htA gnd htB }
}
valve V1 EZ80 { plate1: htA, plate2: htB, cathode: HT }
HT -- capacitor C1 47u 450V electrolytic -- gnd
HT -- resistor R1 4k 100W wirewound -- gnd
`,
  good: `amp "An EZ80 with its resistance"
transformer T1 100VA {
  primary 230V 10R              { a b }
  ht      250-0-250V 100mA 300R { htA gnd htB }
}
valve V1 EZ80 { plate1: htA, plate2: htB, cathode: HT }
HT -- capacitor C1 32u 450V electrolytic -- gnd
HT -- resistor R1 6k 50W wirewound -- gnd
`,
  *check(context) {
    for (const valve of rectifierValves(context.circuit)) {
      yield;
      const bound = rated(valve, "plateAmpsPeak");
      const place = electrodePlace(valve, valve.plates[0]?.name);
      if (!bound) {
        context.unchecked(valve.valve.reference, "peak plate current (no limit is published)", place);
        continue;
      }
      const where = whereOf(bound.block);
      let most: Worst | undefined;
      let plate = valve.plates[0];
      for (const one of valve.plates) {
        const next = worstRated(context.analysis, valve.valve.reference, one.key, "peak", bound, [
          "standby",
          "idle",
          "drive",
          "pulled",
        ]);
        if (next && (!most || next.value > most.value)) {
          most = next;
          plate = one;
        }
      }
      if (!most || !plate) continue;
      // Charging pulses widen as well as rise under load: the peak grows more slowly than the average, as its two-thirds power.
      const more =
        most.state === "idle"
          ? drivenSupply(context.analysis, { output: valve.output }, where.levels)
          : undefined;
      const driven = more !== undefined && more.factor > 1;
      const found = limit(context, rectifierPeakCurrent, {
        on: [valve.valve.reference, plate.key],
        place,
        says: `${plate.key} peaks at`,
        value: most.value * (driven ? more.factor ** (2 / 3) : 1),
        limit: bound.value,
        limitIs: bound.words,
        unit: "A",
        state: driven ? "drive" : most.state,
        mains: most.mains,
        estimate: most.estimate,
        todo: "Resistance in each plate's lead, or a smaller reservoir.",
        related: [relatedPart(feeding(context.circuit, plate.net)?.transformer, "fed from here")],
        source: sourceOf(valve.facts, bound.block),
      });
      if (found) yield found;
    }
  },
};
