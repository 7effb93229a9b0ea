import type { Circuit } from "../../circuit/model.ts";
import { plugPolarised } from "../../facts/mains.ts";
import { finding, listed, relatedPart } from "../frame/index.ts";
import type { Rule } from "../rule.ts";
import { MAINS_CAUTION } from "./caution.ts";
import { example } from "./example.ts";
import { mainsSide, way, wayText } from "./graph.ts";
import { liveWhenOff } from "./reaches.ts";

export const eitherWayRound: Rule = {
  id: "mains/either-way-round",
  severity: "warning",
  sentence: "The plug goes in either way round, and one way the primary stays live with the switch off.",
  why:
    "Where plug or outlet is not polarised, a single-pole switch is in the neutral half of the time. A double-pole " +
    "switch is right both ways.",
  source:
    "IEC 62368-1 annex L, from memory: the disconnect device opens both poles unless the neutral is sure",
  quiet:
    "Quiet where the region's plug is polarised or the file says so (assume outlet polarised), where the switch breaks " +
    "both conductors, where there is no switch, and where the arrangement is wrong as wired (told by its own rule).",
  caution: MAINS_CAUTION,
  bad: example({ name: "Single pole on the Continent", mains: "mains 230 V 50 Hz EU" }),
  good: example({
    name: "Both poles on the Continent",
    mains: "mains 230 V 50 Hz EU",
    way: `inA -- fuse F1 T315mA 250V -- fused
switch S1 mains dpst 250V 6A {
  1 { common: fused, on: live }
  2 { common: inN, on: back }
}`,
    transformer: `transformer T1 40VA {
  primary 230V 30R { live back }
  heater 6.3V 5A   { h1 gnd }
}`,
  }),
  *check(context) {
    const side = mainsSide(context.circuit);
    if (!side || side.mainsSwitches.length === 0) return;
    const outlet = outletOf(context.circuit);
    const live = liveWhenOff(side, "exchanged");
    if (outlet === undefined) {
      const [entry] = side.entries;
      if (live.length > 0)
        context.unchecked(entry.reference, "whether the plug is polarised (no region)", entry.place);
      return;
    }
    for (const part of side.mainsSwitches) context.checked(part.reference);
    if (outlet.polarised || live.length === 0 || liveWhenOff(side, "wired").length > 0) return;
    const [{ switches, primary, reached, at }] = live;
    const names = switches.map((part) => part.reference);
    yield finding(eitherWayRound, {
      message:
        `With the plug turned over, ${wayText("active", way(reached, at), primary.label)} stays joined with ` +
        `${listed(names)} off: ${outlet.source}. Fit a double-pole switch that breaks both conductors.`,
      on: [...names, primary.transformer.reference],
      place: switches[0].place,
      related: [relatedPart(side.entries[0], "its plug goes in either way round")],
      source: outlet.source,
    });
  },
};

/** Whether the active is sure to be the active; undefined where neither the file nor its region says. */
export function outletOf(
  circuit: Circuit,
): { readonly polarised: boolean; readonly source: string } | undefined {
  const { outlet } = circuit.assumptions;
  if (outlet) {
    const polarised = outlet === "polarised";
    return {
      polarised,
      source: `the file says that the outlet is ${polarised ? "polarised" : "not polarised"}`,
    };
  }
  return circuit.mains.region && plugPolarised[circuit.mains.region];
}
