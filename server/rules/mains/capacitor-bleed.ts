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
import { bleedOhms } from "./bleed.ts";
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
    const told = new Set<string>();
    for (const capacitor of across) {
      if (told.has(capacitor.reference)) continue;
      const group = across.filter((other) => parallel(capacitor, other));
      for (const other of group) told.add(other.reference);
      const farads = group.reduce((sum, part) => sum + part.farads.value, 0);
      if (farads <= bleedExemptFarads.value) continue;
      const slowest = side.positions
        .map((positions) => ({ positions, ohms: bleedOhms(side, capacitor, positions) }))
        .reduce((a, b) => (b.ohms > a.ohms ? b : a));
      const peak = context.circuit.mains.volts.high * Math.SQRT2;
      const halvings = Math.log(peak / bleedVolts.value);
      const most = bleedSeconds.value / (farads * halvings);
      const where = positionsText(slowest.positions, switchesThatMatter(side, capacitor, slowest.ohms));
      const bleeder = `A resistor of at most ${quantity(preferredBelow(most), "Ω")} across it, for the mains voltage, empties it in time.`;
      const common = {
        fix: bleederFix(side, capacitor, most),
        on: group.map((part) => part.reference),
        place: capacitor.place,
        related: group.slice(1).map((part) => relatedPart(part, "in parallel with it")),
      };
      if (slowest.ohms === Number.POSITIVE_INFINITY) {
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
        value: slowest.ohms * farads * halvings,
        limit: bleedSeconds.value,
        limitIs: "allowed",
        unit: "s",
        mains: "high",
        note: `unplugged${where ? ` with ${where}` : ""}, through ${quantity(slowest.ohms, "Ω")}`,
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

function parallel(a: Capacitor, b: Capacitor): boolean {
  const [a1, a2] = [...a.terminals.values()];
  const [b1, b2] = [...b.terminals.values()];
  return (a1 === b1 && a2 === b2) || (a1 === b2 && a2 === b1);
}

/** The switches whose position makes the difference; none where it is as slow in all. */
function switchesThatMatter(side: MainsSide, capacitor: Capacitor, slowest: number) {
  const same = side.positions.every((positions) => bleedOhms(side, capacitor, positions) === slowest);
  return same ? [] : side.switches;
}
