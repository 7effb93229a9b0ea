import type { Fuse } from "../../circuit/model.ts";
import { fuseArc } from "../../facts/practice.ts";
import type { Solution } from "../../physics/results.ts";
import { factPlace, limit, netsOf, partsOf, quantity, solutions } from "../frame/index.ts";
import type { Finding, Rule, RuleContext } from "../rule.ts";
import { isDirect } from "../shared/direct.ts";
import { MAINS_CAUTION } from "./caution.ts";
import { example } from "./example.ts";
import { mainsSide } from "./graph.ts";

export const fuseVoltage: Rule = {
  id: "mains/fuse-voltage",
  severity: "error",
  sentence: "A fuse is rated for less than the voltage that stands across it once it has blown.",
  why:
    "A fuse that blows above its voltage goes on arcing, and the current that it should have stopped flows on. In a lead of the " +
    "high tension it is direct current, whose arc no zero crossing puts out.",
  source: "IEC 60127-10, from memory: the rated voltage is at least that of its place",
  quiet:
    "In the mains it is held against their nominal volts, since a fuse's standard allows for the tolerance; elsewhere against the " +
    `highest direct volts of its nets in any state. Below ${fuseArc.leastVolts} V, and in a lead that alternates, not looked at; no voltage given: unchecked.`,
  caution: MAINS_CAUTION,
  bad: example({
    name: "Fuse of 125 V",
    way: `inA -- fuse F1 T315mA 125V -- fused
fused -- switch S1 mains 250V 6A -- live`,
  }),
  good: example({ name: "Fuse of 250 V" }),
  *check(context) {
    const side = mainsSide(context.circuit);
    for (const fuse of partsOf(context.circuit, "fuse")) {
      yield;
      if (side?.fuses.includes(fuse)) continue;
      const found = behindTheMains(context, fuse);
      if (found) yield found;
    }
    for (const fuse of side?.fuses ?? []) {
      yield;
      if (!fuse.volts) {
        context.unchecked(fuse.reference, "its voltage rating", fuse.place);
        continue;
      }
      const found = limit(context, fuseVoltage, {
        on: fuse.reference,
        place: factPlace(fuse, "volts"),
        says: `${fuse.reference} stands on`,
        value: context.circuit.mains.volts.nominal,
        limit: fuse.volts.value,
        unit: "V",
        mains: "nominal",
        todo: "Fit one rated 250 V.",
      });
      if (found) yield found;
    }
  },
};

/** A fuse in the high tension: blown, it has all of it across. */
function behindTheMains(context: RuleContext, fuse: Fuse): Finding | undefined {
  let worst = 0;
  let at: Solution | undefined;
  for (const solution of solutions(context.analysis)) {
    for (const net of netsOf(fuse)) {
      const volts = Math.abs(solution.volts[net]);
      if (volts > worst && isDirect(solution, net)) {
        worst = volts;
        at = solution;
      }
    }
  }
  if (!at || worst < fuseArc.leastVolts) return undefined;
  if (!fuse.volts) {
    context.unchecked(fuse.reference, "its voltage rating", fuse.place);
    return undefined;
  }
  return limit(context, fuseVoltage, {
    on: fuse.reference,
    place: factPlace(fuse, "volts"),
    says: `${fuse.reference}, once it has blown, stands across`,
    value: worst,
    limit: fuse.volts.value,
    unit: "V",
    state: at.state,
    mains: at.level,
    todo: `Fit one made for ${quantity(Math.ceil(worst / 50) * 50, "V")} dc, or fuse the winding's ac side.`,
  });
}
