import type { Resistor } from "../../circuit/model.ts";
import { resistorHeat, resistorHeatUnknown, resistorPassing, standardWatts } from "../../facts/passives.ts";
import { limit, partsOf, quantity, relatedNet, type Where, type Worst, worst } from "../frame/index.ts";
import type { Finding, Fix, Rule, RuleContext } from "../rule.ts";
import { practice } from "../shared/margin.ts";
import { nextOf, writeWatts } from "../shared/values.ts";
import { worstNear } from "../shared/worst-near.ts";
import { drivenState, drivenWatts } from "../valve/driven.ts";

/** A resistor without written watts is told only where it dissipates more than the smallest one sold may. */
const SMALLEST_WATTS = standardWatts[0];

const LASTING: Where = { states: ["standby", "idle", "drive"] };
const PASSING: Where = { states: ["cold", "pulled"] };
const USUAL: Where = { ...LASTING, levels: ["nominal"], tolerance: "nominal" };

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
    "than half of the smallest size sold. Cold start, pulled valves and full drive are held to the rating, not to the margin; under a sine at full drive up to half as much again is a warning.",
  bad: `amp "Half a watt in a quarter-watt part"
source B1 100V { plus: HT, minus: gnd }
HT -- resistor R1 20k 0.25W metal-film -- gnd
`,
  good: `amp "Half a watt in a one-watt part"
source B1 100V { plus: HT, minus: gnd }
HT -- resistor R1 20k 1W metal-film 350V -- gnd
`,
  *check(context) {
    const kept = practice(context, "resistor");
    for (const part of partsOf(context.circuit, "resistor")) {
      yield;
      // Without a rating it is only asked whether any would do.
      const watts = part.watts?.value ?? SMALLEST_WATTS / 2;
      const lasting = worstNear(context.analysis, part.reference, "watts", watts, LASTING);
      const passing = worstNear(context.analysis, part.reference, "watts", watts, PASSING);
      const most = passing && passing.value > (lasting?.value ?? 0) * 1.001 ? passing : (lasting ?? passing);
      if (!most) continue;
      if (!part.watts) {
        if (most.value > SMALLEST_WATTS / 2)
          context.unchecked(part.reference, "dissipation (no watts written)", part.referencePlace);
        continue;
      }
      const heat = derating(part, context.circuit.assumptions.ambientCelsius.value);
      const rated: Held = {
        context,
        part,
        watts: part.watts.value,
        allowed: part.watts.value * heat.share,
        heat,
        kept,
      };
      // Valves out or cold is a matter of minutes: a resistor stands half as much again for that.
      const briefly =
        most === passing &&
        (lasting?.value ?? 0) <= rated.allowed &&
        most.value <= resistorPassing.share * rated.allowed;
      const over = held(rated, most, heat.share, false, briefly ? "warning" : undefined);
      if (over) {
        yield over;
        continue;
      }
      const usual = worst(context.analysis, part.reference, "watts", USUAL);
      const near = usual && held(rated, usual, heat.share * kept.margin, true);
      if (near) {
        yield near;
        continue;
      }
      // Those of screens and cathodes carry more when the stage is driven; a sine at full drive is more than music asks.
      const driven = drivenWatts(context.analysis, part.reference, {
        levels: ["nominal"],
        tolerance: "nominal",
      });
      if (!driven || driven.value <= (usual?.value ?? 0)) continue;
      const played = held(
        rated,
        { ...drivenState(driven), value: driven.value, mains: driven.mains },
        heat.share,
        false,
        driven.value <= resistorPassing.share * rated.allowed ? "warning" : undefined,
      );
      if (played) yield played;
    }
  },
};

/** A resistor with what it is held to. */
interface Held {
  readonly context: RuleContext;
  readonly part: Resistor;
  readonly watts: number;
  /** The rating at the ambient. */
  readonly allowed: number;
  readonly heat: Heat;
  readonly kept: ReturnType<typeof practice>;
}

/** @param margin held to the margin of practice too */
function held(
  { context, part, watts, allowed, heat, kept }: Held,
  most: Pick<Worst, "value" | "state" | "mains" | "estimate"> & { readonly stateWords?: string },
  share: number,
  margin: boolean,
  severity?: "warning",
): Finding | undefined {
  return limit(context, resistorPower, {
    on: part.reference,
    place: part.factPlaces.get("watts") ?? part.referencePlace,
    value: most.value,
    limit: allowed,
    unit: "W",
    margin: margin ? kept.margin : undefined,
    marginSource: kept.marginSource,
    severity,
    state: most.state,
    mains: most.mains,
    source: heat.share < 1 ? heat.source : undefined,
    words: () => ({
      says: `${part.reference} dissipates`,
      limitIs:
        heat.share < 1 ? `rated ${quantity(watts, "W")}, at ${Math.round(heat.celsius)} °C` : undefined,
      stateWords: most.stateWords,
      estimate: most.estimate,
      ...remedy(context, part, most.value / Math.min(share, kept.margin)),
    }),
  });
}

/** @param wanted watts of a body with room to spare */
function remedy(context: RuleContext, part: Resistor, wanted: number) {
  const next = nextOf(standardWatts, wanted);
  const place = part.factPlaces.get("watts");
  const [from] = part.terminals.values();
  const fix: Fix | undefined =
    next !== undefined && place
      ? { title: `Make ${part.reference} ${quantity(next, "W")}`, edits: [{ place, text: writeWatts(next) }] }
      : undefined;
  return {
    todo:
      next === undefined
        ? "No standard size reaches that with room to spare: several in series, or look for what draws the current."
        : `Standard size with room to spare: ${quantity(next, "W")}.`,
    related: [relatedNet(context.circuit, from, "the net that it hangs on")],
    fix,
  };
}

interface Heat {
  readonly share: number;
  readonly celsius: number;
  readonly source: string;
}

/** Share of its rated watts that a resistor keeps at the ambient, by its kind. */
export function derating(part: Resistor, celsius: number): Heat {
  const line = (part.material && resistorHeat[part.material]) || resistorHeatUnknown;
  const share = Math.min(
    1,
    Math.max(0, (line.zeroCelsius - celsius) / (line.zeroCelsius - line.fullCelsius)),
  );
  return { share, celsius, source: line.source };
}
