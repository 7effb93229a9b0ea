import type { Lamp } from "../../circuit/model.ts";
import { lampRise } from "../../facts/practice.ts";
import type { Solution } from "../../physics/results.ts";
import { ends, factPlace, limit, partsOf, worstOf } from "../frame/index.ts";
import type { Rule } from "../rule.ts";
import { onMains } from "../shared/mains-side.ts";

export const lampVoltage: Rule = {
  id: "rating/lamp-voltage",
  severity: "error",
  sentence: "The lamp is on more volts than it is made for.",
  why: "A filament lamp's life falls with about the twelfth power of its volts: it is dark within weeks, and then nobody sees that the set is on.",
  source: "the lamp's rated volts; 10 % at nominal mains is common practice",
  quiet:
    "Quiet within 10 % at nominal mains (a 6 V lamp on 6.3 V), on neon lamps and on lamps across the mains.",
  bad: `amp "A 6.3 V lamp on 12.6 V"
transformer T1 20VA {
  primary 230V 60R { a b }
  heater  12.6V 1A { h1 gnd }
}
h1 -- lamp LP1 6.3V 0.15A -- gnd
`,
  good: `amp "A 6.3 V lamp on 6.3 V"
transformer T1 20VA {
  primary 230V 60R   { a b }
  heater  6.3V 0.15A { h1 gnd }
}
h1 -- lamp LP1 6.3V 0.15A -- gnd
`,
  *check(context) {
    for (const part of partsOf(context.circuit, "lamp")) {
      yield;
      if (part.neon || onMains(context.circuit, part)) continue;
      const most = worstOf(
        context.analysis,
        { levels: ["nominal"], states: ["idle", "standby", "cold"], tolerance: "nominal" },
        (solution) => lampVolts(solution, part),
        undefined,
        part.reference,
      );
      if (!most || most.value < 0.1) continue;
      if (!part.volts) {
        context.unchecked(part.reference, "lamp voltage (no rating written)", part.referencePlace);
        continue;
      }
      const found = limit(context, lampVoltage, {
        on: part.reference,
        place: factPlace(part, "volts"),
        says: `${part.reference} burns on`,
        value: most.value,
        limit: part.volts.value * lampRise.share,
        limitIs: `rated ${part.volts.value} V, with the usual 10 %`,
        unit: "V",
        state: most.state,
        mains: most.mains,
        estimate: most.estimate,
        todo: "A lamp for those volts, or a resistor in its lead.",
      });
      if (found) yield found;
    }
  },
};

function lampVolts(solution: Solution, part: Lamp): number | undefined {
  const reading = solution.readings.get(part.reference);
  if (reading?.rmsVolts !== undefined) return reading.rmsVolts;
  const both = ends(part);
  const volts = reading?.volts ?? (both ? solution.volts[both[0]] - solution.volts[both[1]] : undefined);
  return volts === undefined ? undefined : Math.abs(volts);
}
