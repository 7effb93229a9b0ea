import { factPlace, limit, partsOf } from "../frame/index.ts";
import type { Rule } from "../rule.ts";
import { practice } from "../shared/margin.ts";
import { worstNear } from "../shared/worst-near.ts";

export const zenerPower: Rule = {
  id: "rating/zener-power",
  severity: "error",
  sentence: "The zener dissipates more than it is rated for.",
  why: "It goes short, and whatever it held down or stood in series with is then at other volts altogether.",
  source: "the zener's rated watts; margin by common practice",
  quiet: "Quiet up to 70 % of the rating; a zener without written watts is unchecked where it conducts.",
  bad: `amp "A zener run hard"
source B1 100V { plus: HT, minus: gnd }
HT -- resistor R1 1k 5W -- z
gnd -- zener D1 56V 1W -- z
`,
  good: `amp "A zener with room"
source B1 100V { plus: HT, minus: gnd }
HT -- resistor R1 4k7 2W -- z
gnd -- zener D1 56V 1W -- z
`,
  *check(context) {
    for (const part of partsOf(context.circuit, "zener")) {
      yield;
      const most = worstNear(context.analysis, part.reference, "watts", part.watts?.value);
      if (!most || most.value < 1e-3) continue;
      if (!part.watts) {
        context.unchecked(part.reference, "dissipation (no watts written)", part.referencePlace);
        continue;
      }
      const found = limit(context, zenerPower, {
        on: part.reference,
        place: factPlace(part, "watts"),
        says: `${part.reference} dissipates`,
        value: most.value,
        limit: part.watts.value,
        unit: "W",
        ...practice(context, "zener"),
        state: most.state,
        mains: most.mains,
        todo: "A zener of more watts, two in series that share it, or a larger resistor ahead of it.",
      });
      if (found) yield found;
    }
  },
};
