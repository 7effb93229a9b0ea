import { musicDraw, roundRating } from "../../facts/practice.ts";
import { factPlace, limit, partsOf, quantity, solutions } from "../frame/index.ts";
import type { Rule } from "../rule.ts";
import { practice } from "../shared/margin.ts";
import { drivenVoltAmperes } from "./driven.ts";

export const transformerLoad: Rule = {
  id: "supply/transformer-load",
  severity: "error",
  sentence: "The mains transformer is loaded past its VA.",
  why: "It runs hotter than its insulation is made for, every evening a little, until a turn shorts.",
  source: "the transformer's rated VA against what its primary draws",
  quiet:
    "Quiet up to 3 % over at nominal mains, idle; what only a full-drive sine brings about is a warning past a quarter over, and advice below: music draws less. Without written VA it is unchecked.",
  bad: `amp "Too small a transformer"
transformer T1 20VA {
  primary 230V 40R              { a b }
  ht      250-0-250V 150mA 200R { htA gnd htB }
}
htA -- diode D1 1N4007 -- HT
htB -- diode D2 1N4007 -- HT
HT -- capacitor C1 47u 500V electrolytic -- gnd
HT -- resistor R1 4k 100W wirewound -- gnd
`,
  good: `amp "Large enough"
transformer T1 80VA {
  primary 230V 15R              { a b }
  ht      250-0-250V 150mA 200R { htA gnd htB }
}
htA -- diode D1 1N4007 -- HT
htB -- diode D2 1N4007 -- HT
HT -- capacitor C1 47u 500V electrolytic -- gnd
HT -- resistor R1 4k 100W wirewound -- gnd
`,
  leads: [{ rule: "mains/fuse-value", sharing: "part", manner: "mark" }],
  *check(context) {
    const { circuit, analysis } = context;
    for (const part of partsOf(circuit, "transformer")) {
      yield;
      if (!part.primary) continue;
      let most = 0;
      let at: { state?: "idle" | "standby"; mains?: "nominal" } = {};
      for (const solution of solutions(analysis, { states: ["standby", "idle"], levels: ["nominal"] })) {
        const load = solution.readings.get(part.reference)?.voltAmperes ?? 0;
        if (load > most) {
          most = load;
          at = { state: solution.state as "idle" | "standby", mains: "nominal" };
        }
      }
      if (most < 0.01) continue;
      if (!part.voltAmperes) {
        context.unchecked(part.reference, "transformer load (no VA written)", part.referencePlace);
        continue;
      }
      const rating = part.voltAmperes.value;
      const allowed = rating * roundRating.share;
      const common = {
        on: part.reference,
        place: factPlace(part, "voltAmperes"),
        says: `${part.reference}'s primary takes`,
        unit: "VA" as const,
        todo: "A larger transformer, or less on it.",
        related: [part.primary, ...part.secondaries].flatMap((winding) => {
          const amps = analysis
            .solution("idle", "nominal")
            ?.readings.get(`${part.reference}.${winding.name}`)?.rms;
          return amps === undefined || amps < 1e-4
            ? []
            : [
                {
                  on: `${part.reference}.${winding.name}`,
                  message: `carries ${quantity(amps, "A")} rms at idle`,
                  place: winding.place,
                },
              ];
        }),
      };
      const still = limit(context, transformerLoad, {
        ...common,
        ...practice(context, "transformer"),
        value: most,
        limit: most > allowed ? rating : allowed,
        ...at,
      });
      if (still) {
        yield still;
        continue;
      }
      const driven = drivenVoltAmperes(analysis, part);
      if (driven === undefined) continue;
      const found = limit(context, transformerLoad, {
        ...common,
        value: driven,
        limit: driven > allowed ? rating : allowed,
        state: "drive",
        mains: "nominal",
        note: `sine at full drive; ${quantity(most, "VA")} at idle`,
        severity: driven > musicDraw.share * rating ? "warning" : "advice",
      });
      if (found) yield found;
    }
  },
};
