import { earthSlackMetres } from "../../facts/mains.ts";
import { finding, listed, partsOf, quantity } from "../frame/index.ts";
import { MAINS_CAUTION } from "../mains/caution.ts";
import { example } from "../mains/example.ts";
import type { Rule } from "../rule.ts";

export const longest: Rule = {
  id: "earth/longest",
  severity: "error",
  sentence: "The earth core is not the longest of the cord's three.",
  why: "When the cord slips in its anchorage the shortest core parts first. The earth must be the last to go.",
  source: "IEC 60335-1 27.3; IEC 60950-1 3.2.6",
  quiet: "Quiet on inlets, whose wiring takes no strain; lengths that are not said are told as unchecked.",
  caution: MAINS_CAUTION,
  bad: example({
    name: "Earth as short as the rest",
    cord: `cord W1 1.0mm2 anchored {
  active:  inA 60mm brown
  neutral: inN 60mm blue
  earth:   inE 60mm green-yellow
}`,
  }),
  good: example({ name: "Earth with slack" }),
  *check(context) {
    for (const cord of partsOf(context.circuit, "cord")) {
      yield;
      const earth = cord.leads.get("earth");
      if (!earth) continue;
      const others = (["active", "neutral"] as const).flatMap((role) => {
        const lead = cord.leads.get(role);
        return lead ? [{ role, lead }] : [];
      });
      // A cord of an earth alone has nothing to be longer than: circuit/unconnected tells what is missing.
      if (others.length === 0) continue;
      const unsaid = [{ role: "earth", lead: earth }, ...others].filter(({ lead }) => !lead.metres);
      if (unsaid.length > 0) {
        context.unchecked(
          cord.reference,
          `whether its earth is the longest (no length for ${listed(unsaid.map(({ role }) => role))})`,
          cord.place,
        );
        continue;
      }
      context.checked(cord.reference);
      const rival = others.reduce((a, b) =>
        (b.lead.metres?.value ?? 0) > (a.lead.metres?.value ?? 0) ? b : a,
      );
      const own = earth.metres?.value ?? 0;
      const other = rival.lead.metres?.value ?? 0;
      const slack = own - other;
      if (slack >= earthSlackMetres.value - 1e-9) continue;
      const short = slack <= 1e-9;
      yield finding(longest, {
        severity: short ? "error" : "warning",
        message: short
          ? `The earth of ${cord.reference} is ${quantity(own, "m")} and its ${rival.role} ${quantity(other, "m")}: when the cord ` +
            `slips, the earth is not the last to part. Leave it at least ${quantity(earthSlackMetres.value, "m")} longer.`
          : `The earth of ${cord.reference} is only ${quantity(slack, "m", 2)} longer than its ${rival.role}; practice leaves ` +
            `${quantity(earthSlackMetres.value, "m")} or more.`,
        on: [cord.reference],
        place: earth.place,
        value: own,
        limit: short ? other : other + earthSlackMetres.value,
        unit: "m",
        related: [
          { on: cord.reference, message: `the ${rival.role}, to be the shorter`, place: rival.lead.place },
        ],
        source: short ? longest.source : earthSlackMetres.source,
      });
    }
  },
};
