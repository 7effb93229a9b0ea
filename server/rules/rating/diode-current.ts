import { factPlace, limit } from "../frame/index.ts";
import type { Rule } from "../rule.ts";
import { onMains } from "../shared/mains-side.ts";
import { worstNear } from "../shared/worst-near.ts";
import { addedAmps } from "../supply/driven.ts";
import { furthest } from "./diode-reverse.ts";
import { siliconDiodes } from "./diodes.ts";

export const diodeCurrent: Rule = {
  id: "rating/diode-current",
  severity: "error",
  sentence: "The diode carries more current than it is rated for.",
  why: "It overheats, shorts, and leaves the winding on the short.",
  source: "average forward current of the part or its sheet, less the sheet's derating for a capacitor load",
  quiet: "Quiet up to the rating; a diode without rating or type is unchecked where it rectifies.",
  bad: `amp "A small diode on a large load"
transformer T1 100VA {
  primary 230V 15R    { a b }
  low     12V 9A 0.08R { x gnd }
}
x -- diode D1 100V 1A -- out
out -- capacitor C1 22000u 25V electrolytic -- gnd
out -- resistor R1 6R8 100W wirewound -- gnd
`,
  good: `amp "A diode that carries it"
transformer T1 100VA {
  primary 230V 15R    { a b }
  low     12V 9A 0.08R { x gnd }
}
x -- diode D1 100V 6A -- out
out -- capacitor C1 22000u 25V electrolytic -- gnd
out -- resistor R1 6R8 100W wirewound -- gnd
`,
  *check(context) {
    const { circuit, analysis } = context;
    for (const diode of siliconDiodes(circuit)) {
      yield;
      if (onMains(circuit, diode.part)) continue;
      const rating =
        diode.part.amps?.value ??
        (diode.limits?.forwardAmpsAverage === undefined
          ? undefined
          : diode.limits.forwardAmpsAverage * (1 - (diode.limits.capacitorLoadDerating ?? 0)));
      const most = furthest(diode.keys.map((key) => worstNear(analysis, key, "amps", rating)));
      if (!most || most.value < 1e-5) continue;
      if (rating === undefined) {
        context.unchecked(
          diode.part.reference,
          "forward current (no rating written)",
          diode.part.referencePlace,
        );
        continue;
      }
      // What the output stage adds under drive, shared by the two sides of a full-wave rectifier, when it is high tension.
      const idle = analysis.solution("idle", "high");
      const heavy = most.state === "idle" && most.value > 0.01 && idle?.solved;
      const added = heavy && idle ? addedAmps(analysis, idle, "high") / 2 : 0;
      const found = limit(context, diodeCurrent, {
        on: diode.part.reference,
        place: factPlace(diode.part, "amps", "type"),
        says: `${diode.part.reference} carries, on average,`,
        value: most.value + added,
        limit: rating,
        unit: "A",
        state: added > 0 ? "drive" : most.state,
        mains: most.mains,
        estimate: most.estimate,
        todo: "A diode of more current.",
        source: diode.part.amps ? undefined : `${diode.part.kind} sheet, ${diode.limits?.source}`,
      });
      if (found) yield found;
    }
  },
};
