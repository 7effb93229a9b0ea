import type { NetIndex, Switch } from "../../circuit/model.ts";
import { directContact } from "../../facts/practice.ts";
import type { Solution } from "../../physics/results.ts";
import { factPlace, limit, partsOf, quantity, solutions } from "../frame/index.ts";
import type { Rule } from "../rule.ts";
import { isDirect } from "../shared/direct.ts";

export const switchDc: Rule = {
  id: "rating/switch-dc",
  severity: "error",
  sentence: "The standby switch breaks more dc than it is made for.",
  why:
    "An ac arc goes out at the next zero crossing; a dc arc burns on between the contacts until they weld or the body tracks. " +
    "A rating of 250 V ac says nothing about 450 V dc.",
  source: "the switch's rated dc voltage; ac ratings are not for dc (common practice)",
  quiet:
    "Quiet below 30 V, on switches that break the winding's ac, and on mains switches. A switch with an ac rating alone is a " +
    "warning, since that is how most amplifiers are built; with no rating at all it is unchecked.",
  bad: `amp "An ac switch in the HT"
source B1 430V { plus: HT0, minus: gnd }
HT0 -- switch S1 standby 250V 3A -- HT1
HT1 -- resistor R1 47k 10W 500V -- gnd
`,
  good: `amp "A switch made for dc"
source B1 430V { plus: HT0, minus: gnd }
HT0 -- switch S1 standby dc 600V 3A -- HT1
HT1 -- resistor R1 47k 10W 500V -- gnd
`,
  *check(context) {
    for (const part of partsOf(context.circuit, "switch")) {
      yield;
      if (part.duty === "mains") continue;
      let worst = 0;
      let found: Solution | undefined;
      for (const solution of solutions(context.analysis)) {
        for (const [a, b] of openContacts(part, solution)) {
          const volts = Math.abs(solution.volts[a] - solution.volts[b]);
          if (volts > worst && isDirect(solution, a) && isDirect(solution, b)) {
            worst = volts;
            found = solution;
          }
        }
      }
      if (worst < directContact.volts || !found) continue;
      const common = {
        on: part.reference,
        place: factPlace(part, "voltsDirect", "volts"),
        says: `${part.reference} breaks`,
        value: worst,
        unit: "V" as const,
        state: found.state,
        mains: found.level,
      };
      if (part.voltsDirect) {
        const over = limit(context, switchDc, {
          ...common,
          limit: part.voltsDirect.value,
          limitIs: "rated, dc,",
        });
        if (over) yield over;
      } else if (part.volts) {
        const over = limit(context, switchDc, {
          ...common,
          limit: part.volts.value,
          limitIs: "rated, for ac only,",
          severity: "warning",
          todo: `A switch with a dc rating of ${quantity(Math.ceil(worst / 50) * 50, "V")}, or stand by another way.`,
        });
        if (over) yield over;
        else
          context.unchecked(
            part.reference,
            "dc voltage of the contacts (only an ac rating written)",
            part.referencePlace,
          );
      } else {
        context.unchecked(
          part.reference,
          "dc voltage of the contacts (no rating written)",
          part.referencePlace,
        );
      }
    }
  },
};

/** Pairs of nets that stand apart over an open contact in a solution's state. */
function openContacts(part: Switch, solution: Solution): [NetIndex, NetIndex][] {
  const pairs: [NetIndex, NetIndex][] = [];
  if (part.duty !== "standby" || solution.state !== "standby") return pairs;
  for (const pole of part.poles) {
    if (pole.common === undefined) continue;
    for (const [position, net] of pole.throws) if (position === "on") pairs.push([pole.common, net]);
  }
  return pairs;
}
