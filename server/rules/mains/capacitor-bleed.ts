import type { Capacitor } from "../../circuit/model.ts";
import { bleedExemptFarads, bleedSeconds, bleedVolts } from "../../facts/mains.ts";
import {
  figure,
  finding,
  freeReference,
  limit,
  netName,
  newStatement,
  preferredBelow,
  quantity,
  relatedPart,
} from "../frame/index.ts";
import type { Fix, Rule } from "../rule.ts";
import { charged } from "./bleed.ts";
import { MAINS_CAUTION } from "./caution.ts";
import { example } from "./example.ts";
import { type MainsSide, mainsSide, positionsText } from "./graph.ts";
import { mainsCapacitors } from "./nets.ts";

export const capacitorBleed: Rule = {
  id: "mains/capacitor-bleed",
  severity: "warning",
  sentence: "A capacitor across the mains keeps its charge after the plug is drawn.",
  why: "The pins of the plug then stand at up to the peak of the mains, and the next hand on them finds out.",
  source: "IEC 60065 9.1.6 and IEC 62368-1 5.5.2.2: 60 V within 2 s, 0.1 µF and less exempt",
  quiet:
    "Quiet up to 0.1 µF in all between the same two points, and where a primary, a lamp or a resistor empties it in " +
    "every position of every switch.",
  caution: MAINS_CAUTION,
  bad: example({
    name: "No discharge with the switch off",
    rest: `h1 -- lamp LP1 6.3V 5A -- gnd
fused -- capacitor C1 220n X2 275VAC film -- inN`,
  }),
  good: example({
    name: "With a bleeder",
    rest: `h1 -- lamp LP1 6.3V 5A -- gnd
fused -- capacitor C1 220n X2 275VAC film -- inN
fused -- resistor R1 1M 1W 500V metal-film -- inN`,
  }),
  *check(context) {
    const side = mainsSide(context.circuit);
    if (!side) return;
    const across = mainsCapacitors(side).flatMap(({ capacitor, bridge }) =>
      bridge === "across" && capacitor.safetyClass ? [capacitor] : [],
    );
    if (across.length === 0) return;
    const peak = context.circuit.mains.volts.high * Math.SQRT2;
    const halvings = Math.log(peak / bleedVolts.value);
    const all = side.positions
      .flatMap((positions) => charged(side, across, positions))
      .map((entry) => ({
        ...entry,
        farads: entry.capacitors.reduce((sum, part) => sum + part.farads.value, 0),
      }))
      .filter((entry) => entry.farads > bleedExemptFarads.value)
      .sort((a, b) => b.ohms * b.farads - a.ohms * a.farads || b.farads - a.farads);
    const told = new Set<string>();
    for (const { capacitors: group, ohms, farads, positions } of all) {
      const [capacitor] = group;
      if (group.some((part) => told.has(part.reference))) continue;
      for (const part of group) told.add(part.reference);
      const most = bleedSeconds.value / (farads * halvings);
      const same = all.every((entry) => !entry.capacitors.includes(capacitor) || entry.ohms === ohms);
      const where = same ? "" : positionsText(positions, side.switches);
      const bleeder = `A resistor of at most ${quantity(preferredBelow(most), "Ω")} across it, for the mains voltage, empties it in time.`;
      const common = {
        fix: bleederFix(side, capacitor, most),
        on: group.map((part) => part.reference),
        place: capacitor.place,
        related: group.slice(1).map((part) => relatedPart(part, "in parallel with it")),
      };
      if (ohms === Number.POSITIVE_INFINITY) {
        context.checked(capacitor.reference);
        yield finding(capacitorBleed, {
          ...common,
          message:
            `${capacitor.reference} (${quantity(farads, "F")}) is never emptied once the plug is drawn` +
            `${where ? ` with ${where}` : ""}: up to ${quantity(peak, "V")} stays on the pins. ${bleeder}`,
          limit: bleedSeconds.value,
          unit: "s",
        });
        continue;
      }
      const found = limit(context, capacitorBleed, {
        ...common,
        says: `${capacitor.reference} (${quantity(farads, "F")}) falls to ${bleedVolts.value} V in`,
        value: ohms * farads * halvings,
        limit: bleedSeconds.value,
        limitIs: "allowed",
        unit: "s",
        mains: "high",
        note: `unplugged${where ? ` with ${where}` : ""}, through ${quantity(ohms, "Ω")}`,
        todo: bleeder,
      });
      if (found) yield found;
    }
  },
};

/** A bleeder as practice has it: a megohm where that is fast enough, a body that stands the mains. */
function bleederFix(side: MainsSide, capacitor: Capacitor, most: number): Fix {
  const { circuit } = side;
  const [a, b] = [...capacitor.terminals.values()].map((net) => netName(circuit, net));
  const ohms = Math.min(1e6, preferredBelow(most / 1.2));
  const written = ohms >= 1e6 ? `${figure(ohms / 1e6)}M` : `${figure(ohms / 1e3)}k`;
  const reference = freeReference(circuit, "R");
  return {
    title: `Put a bleeder of ${quantity(ohms, "Ω")} across ${capacitor.reference}`,
    edits: [newStatement(circuit, `${a} -- resistor ${reference} ${written} 1W 500V metal-film -- ${b}`)],
  };
}
