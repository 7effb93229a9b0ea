import { finding, listed, relatedPart } from "../frame/index.ts";
import type { Rule } from "../rule.ts";
import { MAINS_CAUTION } from "./caution.ts";
import { example } from "./example.ts";
import { mainsSide, positionsText, way, wayText } from "./graph.ts";
import { neutralBrokenBy } from "./reaches.ts";

export const neutralBroken: Rule = {
  id: "mains/neutral-broken",
  severity: "error",
  sentence: "A single-pole switch breaks the neutral and leaves the amplifier live.",
  why:
    "Switched off, the amplifier is dark and silent while its transformer and all its mains wiring still stand at the " +
    "full supply voltage: whoever opens it trusts the switch.",
  source: "BS 7671 132.14.1 and 132.14.2; AS/NZS 3000 2.3, from memory",
  quiet:
    "Quiet on a double-pole switch, which parts both conductors at once, and on a switch whose every position keeps the " +
    "neutral on the primary.",
  caution: MAINS_CAUTION,
  bad: example({
    name: "Switch in the neutral",
    way: `inA -- fuse F1 T315mA 250V -- live
inN -- fuse F2 T315mA 250V -- fused
fused -- switch S1 mains 250V 6A -- back`,
    transformer: `transformer T1 40VA {
  primary 230V 30R { live back }
  heater 6.3V 5A   { h1 gnd }
}`,
  }),
  good: example({
    name: "Double-pole switch",
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
  leads: [{ rule: "mains/switch-active", sharing: "part", manner: "mark" }],
  *check(context) {
    const side = mainsSide(context.circuit);
    if (!side || side.neutral.length === 0) return;
    for (const part of side.switches) context.checked(part.reference);
    const broken = neutralBrokenBy(side, "wired");
    for (const part of side.switches) {
      yield;
      const own = broken.filter((entry) => entry.part === part);
      if (own.length === 0) continue;
      const [{ positions, activeReach, at, primary }] = own;
      const labels = own.map((entry) => entry.primary.label);
      yield finding(neutralBroken, {
        message:
          `${wayText("active", way(activeReach, at), primary.label)} stays joined with ${positionsText(positions, [part])}: ` +
          `${part.reference} breaks only the neutral of ${listed(labels)}, which stays at the full ` +
          `${context.circuit.mains.volts.nominal} V. Put the switch in the active, behind the fuse, or fit a double-pole one.`,
        on: [part.reference, ...own.map((entry) => entry.primary.transformer.reference)],
        place: part.place,
        related: [
          ...own.map((entry) => relatedPart(entry.primary.transformer, "its primary stays live")),
          ...side.entries.map((entry) => {
            const lead = entry.leads.get("neutral");
            return lead && { on: entry.reference, message: "the neutral comes in here", place: lead.place };
          }),
        ],
      });
    }
  },
};
