import type { OutputTransformer } from "../../circuit/model.ts";
import { safetyLoad, smallValve } from "../../facts/practice.ts";
import { finding, partsOf, relatedPart } from "../frame/index.ts";
import type { Rule, RuleContext } from "../rule.ts";
import { rated } from "../shared/sections.ts";
import { drivesGrids, outputSections } from "../valve/output.ts";
import { loadsOf } from "./loads.ts";

/** True where nothing but small valves works into it. */
function isSmall(context: RuleContext, transformer: OutputTransformer): boolean {
  const own = outputSections(context.circuit).filter((entry) => entry.transformer === transformer);
  return (
    own.length > 0 &&
    own.every(
      ({ section }) => (rated(section, "plateWatts")?.value ?? Number.POSITIVE_INFINITY) < smallValve.watts,
    )
  );
}

export const noLoadPath: Rule = {
  id: "output/no-load-path",
  severity: "error",
  sentence: "The output stage has no load.",
  why: "Driven without one, the primary's voltage is bounded by nothing but flash-over: sockets arc, bases carbonise, and the output transformer's insulation goes.",
  source: safetyLoad.source,
  quiet:
    "Quiet with a loudspeaker wired to any tap, with a resistor of up to 1 kΩ across the secondary, or with an output jack that shorts the secondary when it is empty. A jack alone is a warning: the loudspeaker may be in it, or not. Quiet on the jack of a reverb tank or of headphones behind small valves, and on a driver transformer, whose secondary works into grids.",
  bad: `amp "Nothing on the secondary"
source B1 250V { plus: HT, minus: gnd }
HT -- resistor R5 220R 1W -- s1
valve V1 EL84 { plate: p1, screen: s1, grid: g1, cathode: k1 }
g1 -- resistor R1 470k 0.5W -- gnd
k1 -- resistor R3 180R 3W wirewound -- gnd
output-transformer T1 8W {
  plates  5k 60mA 260R { p1 HT }
  speaker 8R 0.5R      { spk gnd }
}
spk -- resistor R9 47k 0.5W -- gnd
`,
  good: `amp "A jack with a safety load"
source B1 250V { plus: HT, minus: gnd }
HT -- resistor R5 220R 1W -- s1
valve V1 EL84 { plate: p1, screen: s1, grid: g1, cathode: k1 }
g1 -- resistor R1 470k 0.5W -- gnd
k1 -- resistor R3 180R 3W wirewound -- gnd
output-transformer T1 8W {
  plates  5k 60mA 260R { p1 HT }
  speaker 8R 0.5R      { spk gnd }
}
spk -- resistor R9 220R 10W wirewound -- gnd
jack J2 { tip: spk, sleeve: gnd }
`,
  leads: [{ rule: "circuit/single-use-net", sharing: "part", manner: "attach" }],
  *check(context) {
    for (const transformer of partsOf(context.circuit, "output-transformer")) {
      yield;
      if (!transformer.speaker || !transformer.plates || drivesGrids(context.circuit, transformer)) continue;
      context.checked(transformer.reference);
      const loads = loadsOf(context.circuit, transformer);
      const loaded = loads.some((load) => load.speakers.length > 0 && Number.isFinite(load.ohms));
      const safe = loads.some((load) => load.safetyOhms <= safetyLoad.ohms);
      // Nothing between the tap and common but metal: a jack's break contact shorts it while it is empty.
      const shorted = loads.some((load) => load.ohms === 0);
      if (loaded || safe || shorted) continue;
      const jacks = loads.flatMap((load) => load.jacks);
      // A reverb tank or headphones on a lead: a small triode has not the power to flash anything over.
      if (jacks.length > 0 && isSmall(context, transformer)) continue;
      yield finding(noLoadPath, {
        severity: jacks.length > 0 ? "warning" : "error",
        message:
          jacks.length > 0
            ? `${transformer.reference} has its load on ${jacks[0].reference} alone: pulled under drive, nothing is left. 220 Ω, 10 W across the secondary, or a jack that shorts it when it is empty.`
            : `${transformer.reference}'s secondary has no load: no loudspeaker, no safety resistor, no jack. Never drive it so; 220 Ω, 10 W across the secondary keeps it safe.`,
        on: [transformer.reference, ...jacks.map((jack) => jack.reference)],
        place: transformer.speaker.place,
        related: jacks.slice(0, 2).map((jack) => relatedPart(jack, "the loudspeaker's jack")),
      });
    }
  },
};
