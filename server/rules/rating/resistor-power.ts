import type { Resistor } from "../../circuit/model.ts";
import { resistorHeat, resistorHeatUnknown, resistorPassing, standardWatts } from "../../facts/passives.ts";
import type { StateName } from "../../physics/results.ts";
import { factPlace, limit, partsOf, quantity, relatedNet, type Worst, worst } from "../frame/index.ts";
import type { Fix, Rule, RuleContext } from "../rule.ts";
import { practice } from "../shared/margin.ts";
import { nextOf, writeWatts } from "../shared/values.ts";
import { worstNear } from "../shared/worst-near.ts";

/** A resistor without written watts is told only where it dissipates more than the smallest one sold may. */
const SMALLEST_WATTS = standardWatts[0];

const LASTING: readonly StateName[] = ["standby", "idle", "drive"];

export const resistorPower: Rule = {
  id: "rating/resistor-power",
  severity: "error",
  sentence: "The resistor dissipates more than it is rated for.",
  why:
    "A resistor past its watts drifts, then burns; in a screen or cathode lead it takes the valve with it. Half the rating is " +
    "the custom, since it sits in a hot chassis and its neighbours warm it.",
  source: "the part's rated watts, derated for ambient by makers' sheets; margin by common practice",
  quiet:
    "Quiet on a resistor at up to half its rating at nominal mains, and on one without written watts that dissipates less " +
    "than half of the smallest size sold. Cold start and pulled valves are held to the rating, not to the margin.",
  bad: `amp "Half a watt in a quarter-watt part"
source B1 100V { plus: HT, minus: gnd }
HT -- resistor R1 20k 0.25W metal-film -- gnd
`,
  good: `amp "Half a watt in a one-watt part"
source B1 100V { plus: HT, minus: gnd }
HT -- resistor R1 20k 1W metal-film 350V -- gnd
`,
  *check(context) {
    for (const part of partsOf(context.circuit, "resistor")) {
      // Without a rating it is only asked whether any would do.
      const watts = part.watts?.value ?? SMALLEST_WATTS / 2;
      const lasting = worstNear(context.analysis, part.reference, "watts", watts, { states: LASTING });
      const passing = worstNear(context.analysis, part.reference, "watts", watts, {
        states: ["cold", "pulled"],
      });
      const most = passing && passing.value > (lasting?.value ?? 0) * 1.001 ? passing : (lasting ?? passing);
      if (!most) continue;
      if (!part.watts) {
        if (most.value > SMALLEST_WATTS / 2)
          context.unchecked(part.reference, "dissipation (no watts written)", part.referencePlace);
        continue;
      }
      const heat = derating(part, context.circuit.assumptions.ambientCelsius.value);
      const allowed = part.watts.value * heat.share;
      const shared = {
        on: part.reference,
        place: factPlace(part, "watts"),
        says: `${part.reference} dissipates`,
        limit: allowed,
        limitIs:
          heat.share < 1
            ? `rated ${quantity(part.watts.value, "W")}, at ${Math.round(heat.celsius)} °C`
            : undefined,
        unit: "W" as const,
        source: heat.share < 1 ? heat.source : undefined,
      };
      // Valves out or cold is a matter of minutes: a resistor stands half as much again for that.
      const over = limit(context, resistorPower, {
        ...shared,
        ...worstInput(context, part, most, heat.share),
        severity:
          most === passing &&
          (lasting?.value ?? 0) <= allowed &&
          most.value <= resistorPassing.share * allowed
            ? "warning"
            : undefined,
      });
      if (over) {
        yield over;
        continue;
      }
      const usual = worst(context.analysis, part.reference, "watts", {
        states: LASTING,
        levels: ["nominal"],
        tolerance: "nominal",
      });
      if (!usual) continue;
      const kept = practice(context, "resistor");
      const near = limit(context, resistorPower, {
        ...shared,
        ...worstInput(context, part, usual, heat.share * kept.margin),
        ...kept,
      });
      if (near) yield near;
    }
  },
};

function worstInput(context: RuleContext, part: Resistor, most: Worst, share: number) {
  const next = nextOf(standardWatts, most.value / Math.min(share, practice(context, "resistor").margin));
  const place = part.factPlaces.get("watts");
  const [from] = part.terminals.values();
  const fix: Fix | undefined =
    next !== undefined && place
      ? { title: `Make ${part.reference} ${quantity(next, "W")}`, edits: [{ place, text: writeWatts(next) }] }
      : undefined;
  return {
    value: most.value,
    state: most.state,
    mains: most.mains,
    estimate: most.estimate,
    todo:
      next === undefined
        ? "No standard size reaches that with room to spare: several in series, or look for what draws the current."
        : `Standard size with room to spare: ${quantity(next, "W")}.`,
    related: [relatedNet(context.circuit, from, "the net that it hangs on")],
    fix,
  };
}

/** Share of its rated watts that a resistor keeps at the ambient, by its kind. */
export function derating(
  part: Resistor,
  celsius: number,
): { share: number; celsius: number; source: string } {
  const line = (part.material && resistorHeat[part.material]) || resistorHeatUnknown;
  const share = Math.min(
    1,
    Math.max(0, (line.zeroCelsius - celsius) / (line.zeroCelsius - line.fullCelsius)),
  );
  return { share, celsius, source: line.source };
}
