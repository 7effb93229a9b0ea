import { finding, relatedPart } from "../frame/index.ts";
import type { Rule } from "../rule.ts";
import { MAINS_CAUTION } from "./caution.ts";
import { example } from "./example.ts";
import { MOST_COMBINATIONS, mainsSide } from "./graph.ts";

const thirteen = Array.from({ length: 13 }, (_, index) => `S${index + 1}`);

export const switchPositions: Rule = {
  id: "mains/switch-positions",
  severity: "warning",
  sentence: "There are too many switches on the mains side to look at every combination of their positions.",
  why: "A combination that was not looked at may leave the amplifier live with its switch off.",
  source: `common practice: ${MOST_COMBINATIONS} combinations are looked at`,
  quiet:
    "Quiet up to that number; past it the running amplifier and each switch moved alone are still looked at.",
  caution: MAINS_CAUTION,
  bad: example({
    name: "Thirteen switches",
    way: `inA -- fuse F1 T315mA 250V -- n0
${thirteen.map((name, index) => `n${index} -- switch ${name} mains 250V 6A -- ${index === 12 ? "live" : `n${index + 1}`}`).join("\n")}`,
  }),
  good: example({ name: "One switch" }),
  *check(context) {
    const side = mainsSide(context.circuit);
    if (!side?.tooMany) return;
    yield finding(switchPositions, {
      message:
        `${side.switches.length} switches on the mains side have ${side.tooMany} combinations of positions, more than ` +
        `${MOST_COMBINATIONS}: only the running amplifier and each switch moved alone were looked at. Check the rest by hand.`,
      on: side.switches.map((part) => part.reference),
      place: side.switches[0].place,
      related: side.switches.slice(1).map((part) => relatedPart(part, "one of them")),
    });
  },
};
