import type { Winding } from "../../circuit/model.ts";
import { roundRating } from "../../facts/practice.ts";
import { limit, listed, quantity, worst } from "../frame/index.ts";
import type { Finding, Related, Rule, RuleContext } from "../rule.ts";
import { type HeaterLoad, hasString, loadsOf, secondaries } from "./heaters.ts";

export const heaterCurrent: Rule = {
  id: "supply/heater-current",
  severity: "error",
  sentence: "The heaters on this winding draw more than it is wound for.",
  why:
    "The winding and the core around it run hot day and night, the insulation goes brittle, and the volts sag, so that cathodes " +
    "are worn out cold. A second rectifier adds as much as four small valves.",
  source: "the winding's rated current against the published heater currents",
  quiet:
    "Quiet up to 3 % over, since both figures are rounded, and on windings without heaters. A winding without a written " +
    "current is unchecked.",
  bad: `amp "Too much on one winding"
transformer T1 60VA {
  primary 230V 15R        { a b }
  heater  6.3V 2A 0.05R   { h1 h2 }
}
h1 -- resistor R1 100R 0.5W -- gnd
h2 -- resistor R2 100R 0.5W -- gnd
source B1 250V { plus: HT, minus: gnd }
valve V1 EL34 { plate: HT, screen: HT, grid: g1, cathode: k1, heater: h1 h2 }
valve V2 EL34 { plate: HT, screen: HT, grid: g2, cathode: k2, heater: h1 h2 }
g1 -- resistor R3 470k 0.5W -- gnd
g2 -- resistor R4 470k 0.5W -- gnd
k1 -- resistor R5 270R 5W wirewound -- gnd
k2 -- resistor R6 270R 5W wirewound -- gnd
`,
  good: `amp "Wound for both"
transformer T1 60VA {
  primary 230V 15R        { a b }
  heater  6.3V 4A 0.05R   { h1 h2 }
}
h1 -- resistor R1 100R 0.5W -- gnd
h2 -- resistor R2 100R 0.5W -- gnd
source B1 250V { plus: HT, minus: gnd }
valve V1 EL34 { plate: HT, screen: HT, grid: g1, cathode: k1, heater: h1 h2 }
valve V2 EL34 { plate: HT, screen: HT, grid: g2, cathode: k2, heater: h1 h2 }
g1 -- resistor R3 470k 0.5W -- gnd
g2 -- resistor R4 470k 0.5W -- gnd
k1 -- resistor R5 270R 5W wirewound -- gnd
k2 -- resistor R6 270R 5W wirewound -- gnd
`,
  leads: [
    { rule: "supply/winding-current", sharing: "part", manner: "attach" },
    { rule: "supply/transformer-load", sharing: "part", manner: "mark" },
    { rule: "valve/heater-voltage", sharing: "part", manner: "mark" },
  ],
  *check(context) {
    for (const { transformer, winding, key } of secondaries(context.circuit)) {
      yield;
      const loads = loadsOf(context.circuit, winding);
      const string = hasString(context.circuit, winding);
      if (loads.length === 0 && !string) continue;
      if (!winding.amps) {
        context.unchecked(
          transformer.reference,
          `heater current of ${key} (no current written)`,
          winding.place,
        );
        continue;
      }
      const found = held(context, winding, key, loads, string);
      if (found) yield found;
    }
  },
};

function held(
  context: RuleContext,
  winding: Winding,
  key: string,
  loads: readonly HeaterLoad[],
  string: boolean,
): Finding | undefined {
  const allowed = (winding.amps?.value ?? 0) * roundRating.share;
  // A string's current is nobody's published figure: as computed, at rated volts.
  const computed = string
    ? worst(context.analysis, key, "rms", { states: ["idle"], levels: ["nominal"], tolerance: "nominal" })
        ?.value
    : undefined;
  const sum = computed ?? loads.reduce((all, load) => all + load.amps, 0);
  const each = loads.map((load) => `${load.reference} ${quantity(load.amps, "A")}`);
  const related: Related[] = loads.flatMap((load) => {
    const place = load.valve?.heater?.place ?? context.circuit.partByReference.get(load.reference)?.place;
    return place ? [{ on: load.reference, message: `draws ${quantity(load.amps, "A")}`, place }] : [];
  });
  const [transformer] = key.split(".");
  return limit(context, heaterCurrent, {
    on: [key, transformer, ...loads.map((load) => load.reference)],
    place: winding.place,
    says: `${key} feeds`,
    value: sum,
    limit: sum > allowed ? (winding.amps?.value ?? 0) : allowed,
    unit: "A",
    note: each.length > 0 ? listed(each) : undefined,
    todo: "Move a valve to a winding of its own, or a transformer with a larger one.",
    related,
  });
}
