import type { Circuit, NetIndex } from "../../circuit/model.ts";
import { discharge as practice } from "../../facts/practice.ts";
import { ends, finding, listed, quantity, relatedPart, when } from "../frame/index.ts";
import type { Rule } from "../rule.ts";
import { bleeder, chains, type Slow, slowest } from "./discharge.ts";

const HOW = {
  "valves in": "after switch-off",
  "valves out": "with the valves out",
  "standby open": "when switched off in standby",
} as const;

export const dischargePath: Rule = {
  id: "supply/discharge-path",
  severity: "error",
  sentence: "Nothing ever empties this capacitor.",
  why: "Switched off with the valves cold or out it holds the HT for hours, and gives it to whoever opens the chassis the next day.",
  source: practice.source,
  quiet:
    "Quiet where any resistor leads from it to common, however slowly (supply/discharge tells that), and on capacitors that never hold 60 V. " +
    "What only the standby switch cuts off from its bleeder, and the hot valves behind it empty, is advice.",
  caution:
    "Never trust a bleeder: measure every reservoir before you touch anything, and discharge it through a resistor.",
  bad: `amp "A reservoir cut off by the standby switch"
transformer T1 60VA {
  primary 230V 20R           { a b }
  ht      230V 200mA 60R     { x y }
}
bridge BR1 1000V 1A { ac1: x, ac2: y, plus: HT0, minus: gnd }
HT0 -- capacitor C1 47u 450V electrolytic -- gnd
HT0 -- switch S1 standby dc 600V 3A -- HT1
HT1 -- resistor R1 47k 10W 500V -- gnd
`,
  good: `amp "With its bleeder"
transformer T1 60VA {
  primary 230V 20R           { a b }
  ht      230V 200mA 60R     { x y }
}
bridge BR1 1000V 1A { ac1: x, ac2: y, plus: HT0, minus: gnd }
HT0 -- capacitor C1 47u 450V electrolytic -- gnd
HT0 -- resistor R2 220k 2W 500V -- gnd
HT0 -- switch S1 standby dc 600V 3A -- HT1
HT1 -- resistor R1 47k 10W 500V -- gnd
`,
  leads: [{ rule: "supply/discharge", sharing: "part", manner: "attach" }],
  *check(context) {
    const slow = slowest(context);
    for (const entry of slow) context.checked(entry.part.reference);
    const never = slow.filter((entry) => !Number.isFinite(entry.seconds));
    for (const chain of chains(context.circuit, never)) {
      yield;
      const charged = chain.filter((entry) => !entry.drained);
      const group = charged.length > 0 ? charged : chain;
      const [worst] = group;
      const names = group.map((entry) => entry.part.reference);
      const volts = overString(context.circuit, group);
      const most = Math.max(...group.map((entry) => entry.found.volts));
      const several = volts > most ? ` over one, ${quantity(volts, "V")} over the string` : "";
      const held = `${quantity(most, "V")}${several}, ${quantity(
        group.reduce((sum, entry) => sum + entry.found.joules, 0),
        "J",
      )}, ${when(undefined, worst.mains)}`;
      yield finding(dischargePath, {
        severity: charged.length > 0 ? "error" : "advice",
        message:
          charged.length > 0
            ? `${listed(names)} ${names.length > 1 ? "are" : "is"} never emptied ${HOW[worst.how]}: ${held}, and no resistor leads ${names.length > 1 ? "them" : "it"} to common. A bleeder of 100 kΩ to 220 kΩ, by body voltage, across ${several ? "each" : "it"}.`
            : `${listed(names)} ${names.length > 1 ? "stand" : "stands"} behind the standby switch without a resistor to common: hot valves empty ${names.length > 1 ? "them" : "it"}, but with the valves cold or out and the switch open ${held} stay. A bleeder of 100 kΩ to 220 kΩ, by body voltage, on that side too.`,
        on: names,
        place: worst.part.referencePlace,
        mains: worst.mains,
        value: volts,
        unit: "V",
        related: group.slice(1, 5).map((entry) => relatedPart(entry.part, "on the same chain")),
        fix: bleeder(context, worst, group).fix,
      });
    }
  },
};

/** The most that several of them in series hold together, one's minus on the other's plus; the most of one where none do. */
function overString(circuit: Circuit, group: readonly Slow[]): number {
  return Math.max(
    ...group.map((top) => {
      let volts = 0;
      const seen = new Set<Slow>();
      for (let at: Slow | undefined = top; at && !seen.has(at); ) {
        seen.add(at);
        volts += at.found.volts;
        const minus: NetIndex | undefined = ends(at.part)?.[1];
        at = minus === circuit.ground ? undefined : group.find((one) => ends(one.part)?.[0] === minus);
      }
      return volts;
    }),
  );
}
