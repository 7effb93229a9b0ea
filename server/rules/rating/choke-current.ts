import { factPlace, limit, partsOf } from "../frame/index.ts";
import type { Rule } from "../rule.ts";
import { onMains } from "../shared/mains-side.ts";
import { practice } from "../shared/margin.ts";
import { networkOf } from "../shared/network.ts";
import { worstNear } from "../shared/worst-near.ts";
import { addedAmps } from "../supply/driven.ts";
import { outputFeeds } from "../supply/feeds.ts";

export const chokeCurrent: Rule = {
  id: "rating/choke-current",
  severity: "error",
  sentence: "The choke carries more direct current than it is wound for.",
  why: "Past its current the core saturates, the inductance goes, the hum comes back, and the winding overheats.",
  source: "the choke's rated direct current",
  quiet: "Quiet up to the rating; a choke without a written current is unchecked where any flows.",
  bad: `amp "Choke too small"
source B1 300V { plus: HT, minus: gnd }
HT -- choke L1 10H 60mA 200R -- x -- resistor R1 3k 100W wirewound -- gnd
`,
  good: `amp "Choke large enough"
source B1 300V { plus: HT, minus: gnd }
HT -- choke L1 10H 120mA 200R -- x -- resistor R1 3k 100W wirewound -- gnd
`,
  *check(context) {
    const { circuit, analysis } = context;
    for (const part of partsOf(circuit, "choke")) {
      yield;
      if (onMains(circuit, part)) continue;
      const most = worstNear(analysis, part.reference, "amps", part.amps?.value, { seek: "size" });
      if (!most || Math.abs(most.value) < 1e-6) continue;
      if (!part.amps) {
        context.unchecked(part.reference, "direct current (no rating written)", part.referencePlace);
        continue;
      }
      const idle = analysis.solution("idle", "high");
      const share = outputFeeds(circuit, networkOf(circuit), part);
      const added = idle?.solved && share !== undefined ? addedAmps(analysis, idle, "high", share) : 0;
      const driven = added > 0 && most.state === "idle";
      const found = limit(context, chokeCurrent, {
        on: part.reference,
        place: factPlace(part, "amps"),
        says: `${part.reference} carries`,
        value: Math.abs(most.value) + (driven ? added : 0),
        limit: part.amps.value,
        unit: "A",
        ...practice(context, "choke"),
        state: driven ? "drive" : most.state,
        mains: most.mains,
        estimate: most.estimate,
        todo: "A choke of more current, or the output stage fed from ahead of it.",
      });
      if (found) yield found;
    }
  },
};
