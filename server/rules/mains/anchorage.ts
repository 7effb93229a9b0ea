import { factPlace, finding, partsOf } from "../frame/index.ts";
import type { Rule } from "../rule.ts";
import { MAINS_CAUTION } from "./caution.ts";
import { example } from "./example.ts";

export const anchorage: Rule = {
  id: "mains/anchorage",
  severity: "error",
  sentence: "The mains cord is not anchored.",
  why: "A pull on the cord then pulls on soldered joints: when they part, the active may end on the chassis and the earth on nothing.",
  source:
    "IEC 60065 16.5 and IEC 62368-1 annex G.7, from memory: an anchorage in the chassis, no knot, no solder alone",
  quiet: "Quiet on inlets, which have no cord of their own; a cord that does not say is told as unchecked.",
  caution: MAINS_CAUTION,
  bad: example({
    name: "Cord with a knot",
    cord: `cord W1 1.0mm2 unanchored {
  active:  inA  60mm brown
  neutral: inN  60mm blue
  earth:   inE 110mm green-yellow
}`,
  }),
  good: example({ name: "Cord with a gland" }),
  *check(context) {
    for (const cord of partsOf(context.circuit, "cord")) {
      yield;
      if (cord.anchored === undefined) {
        context.unchecked(cord.reference, "its anchorage", cord.place);
        continue;
      }
      context.checked(cord.reference);
      if (cord.anchored) continue;
      yield finding(anchorage, {
        message: `${cord.reference} is not anchored: fix it in the chassis with a gland or a clamp made for it; a knot is none.`,
        on: cord.reference,
        place: factPlace(cord, "anchored"),
      });
    }
  },
};
