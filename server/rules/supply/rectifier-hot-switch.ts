import { limit, relatedPart } from "../frame/index.ts";
import type { Rule } from "../rule.ts";
import { electrodePlace, rated, sourceOf } from "../shared/sections.ts";
import { feeding, rectifierValves } from "./rectifiers.ts";

export const rectifierHotSwitch: Rule = {
  id: "supply/rectifier-hot-switch",
  severity: "error",
  sentence:
    "Switched off and on again while hot, the rectifier must fill the empty reservoir past what its sheet allows.",
  why: "The first charge of an empty reservoir is bounded by nothing but the winding's resistance and the valve itself: that is when rectifiers flash over.",
  source: "the rectifier's sheet: hot-switching transient plate current",
  quiet:
    "Quiet up to the published figure. Few sheets print one; where none is, it is unchecked, never taken as allowed.",
  bad: `amp "A stiff winding into a large reservoir"
mains 230 V 50 Hz EU
transformer T1 300VA {
  primary 230V 1R              { a b }
  ht      300-0-300V 400mA 10R { htA gnd htB }
  rect    5V 3A                { HT f }
}
valve V1 5U4GB { plate1: htA, plate2: htB, cathode: HT, heater: HT f }
HT -- capacitor C1 40u 500V electrolytic -- gnd
HT -- resistor R1 10k 100W wirewound 700V -- gnd
`,
  good: `amp "With the sheet's resistance"
transformer T1 150VA {
  primary 230V 6R               { a b }
  ht      300-0-300V 150mA 200R { htA gnd htB }
  rect    5V 3A                 { HT f }
}
valve V1 5U4GB { plate1: htA, plate2: htB, cathode: HT, heater: HT f }
HT -- capacitor C1 16u 500V electrolytic -- gnd
HT -- resistor R1 10k 100W wirewound 700V -- gnd
`,
  *check(context) {
    for (const valve of rectifierValves(context.circuit)) {
      yield;
      const bound = rated(valve, "hotSwitchAmps");
      const place = electrodePlace(valve, valve.plates[0]?.name);
      if (!bound) {
        context.unchecked(valve.valve.reference, "hot switching (no limit is published)", place);
        continue;
      }
      let key: string | undefined;
      let amps = 0;
      for (const plate of valve.plates) {
        const peak = context.analysis.hotSwitch.get(plate.key);
        if (peak !== undefined && peak > amps) {
          amps = peak;
          key = plate.key;
        }
      }
      if (key === undefined) continue;
      const plate = valve.plates.find((entry) => entry.key === key);
      const found = limit(context, rectifierHotSwitch, {
        on: [valve.valve.reference, key],
        place,
        says: `Switched on hot into an empty reservoir, ${key} peaks at`,
        value: amps,
        limit: bound.value,
        limitIs: `${bound.words} for hot switching`,
        unit: "A",
        todo: "Resistance in each plate's lead.",
        related: [relatedPart(plate && feeding(context.circuit, plate.net)?.transformer, "fed from here")],
        source: sourceOf(valve.facts, bound.block),
      });
      if (found) yield found;
    }
  },
};
