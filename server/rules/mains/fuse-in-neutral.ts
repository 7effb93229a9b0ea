import { finding, listed, relatedPart } from "../frame/index.ts";
import type { Rule } from "../rule.ts";
import { MAINS_CAUTION } from "./caution.ts";
import { example } from "./example.ts";
import { mainsSide, wayText } from "./graph.ts";
import { fusedInNeutralAlone } from "./reaches.ts";

export const fuseInNeutral: Rule = {
  id: "mains/fuse-in-neutral",
  severity: "error",
  sentence: "The only fuse is in the neutral.",
  why:
    "A fault from the active to the chassis runs through the earth and never through the fuse; and a fuse that blows in " +
    "the neutral leaves a dead amplifier that is live throughout.",
  source: "BS 7671 132.14.1: a single-pole fuse goes in the line only",
  quiet: "Quiet on a fuse in each conductor, which is allowed (IEC 60950-1 2.7.6, from memory).",
  caution: MAINS_CAUTION,
  bad: example({
    name: "Fuse in the neutral",
    way: `switch S1 mains dpst 250V 6A {
  1 { common: inA, on: live }
  2 { common: fused, on: back }
}
inN -- fuse F1 T315mA 250V -- fused`,
    transformer: `transformer T1 40VA {
  primary 230V 30R { live back }
  heater 6.3V 5A   { h1 gnd }
}`,
  }),
  good: example({
    name: "Fuse in both",
    way: `inA -- fuse F1 T315mA 250V -- fused
inN -- fuse F2 T315mA 250V -- back
fused -- switch S1 mains 250V 6A -- live`,
    transformer: `transformer T1 40VA {
  primary 230V 30R { live back }
  heater 6.3V 5A   { h1 gnd }
}`,
  }),
  leads: [{ rule: "mains/fuse-first", sharing: "part", manner: "mark" }],
  *check(context) {
    const side = mainsSide(context.circuit);
    if (!side) return;
    for (const fuse of side.fuses) context.checked(fuse.reference);
    for (const { primary, fuses, activeWay } of fusedInNeutralAlone(side, "wired")) {
      yield;
      const names = listed(fuses.map((fuse) => fuse.reference));
      yield finding(fuseInNeutral, {
        message:
          `${wayText("active", activeWay, primary.label)}, fuse ${names} only in the neutral: a fault from the active to ` +
          `the chassis does not pass it, and with it blown ${primary.label} stays live. Move it to the active, first of all.`,
        on: [...fuses.map((fuse) => fuse.reference), primary.transformer.reference],
        place: fuses[0]?.place ?? primary.transformer.place,
        related: [
          relatedPart(primary.transformer, "the active comes here without a fuse"),
          ...side.entries.map((entry) => {
            const lead = entry.leads.get("active");
            return lead && { on: entry.reference, message: "the active comes in here", place: lead.place };
          }),
        ],
      });
    }
  },
};
