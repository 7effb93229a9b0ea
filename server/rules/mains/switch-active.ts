import { finding, listed, relatedPart } from "../frame/index.ts";
import type { Rule } from "../rule.ts";
import { MAINS_CAUTION } from "./caution.ts";
import { example } from "./example.ts";
import { mainsSide, positionsText, way, wayText, wiresOnWay } from "./graph.ts";
import { liveWhenOff } from "./reaches.ts";

export const switchActive: Rule = {
  id: "mains/switch-active",
  severity: "error",
  sentence: "With the mains switch off, the primary is still joined to the active.",
  why: "A switch that turns the lamp off but not the danger is worse than none: off is taken for safe.",
  source: "BS 7671 132.14.1; AS/NZS 3000 2.3, from memory; NEC 422.40, from memory",
  quiet:
    "Quiet where the file has no switch on the mains side (mains/switch-missing tells that), and on a double-pole switch.",
  caution: MAINS_CAUTION,
  bad: example({
    name: "Switch bridged",
    way: `inA -- fuse F1 T315mA 250V -- fused
fused -- switch S1 mains 250V 6A -- live
fused -- wire W2 -- live`,
  }),
  good: example({ name: "Switch in the active" }),
  *check(context) {
    const side = mainsSide(context.circuit);
    if (!side || side.mainsSwitches.length === 0) return;
    for (const part of side.mainsSwitches) context.checked(part.reference);
    for (const { primary, positions, switches, reached, at } of liveWhenOff(side, "wired")) {
      yield;
      const names = switches.map((part) => part.reference);
      yield finding(switchActive, {
        message:
          `${wayText("active", way(reached, at), primary.label)} is still joined with ${positionsText(positions)}: ` +
          `${listed(names)} ${names.length > 1 ? "do" : "does"} not take the active off ${primary.label}. Put the switch ` +
          "in the active, behind the fuse, or fit a double-pole one.",
        on: [...names, primary.transformer.reference],
        place: switches[0].place,
        related: [
          relatedPart(primary.transformer, "its primary stays live with the switch off"),
          ...wiresOnWay(reached, at).map((wire) => relatedPart(wire, "the active goes over this wire")),
        ],
      });
    }
  },
};
