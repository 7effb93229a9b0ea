import { finding, listed, relatedPart } from "../frame/index.ts";
import type { Rule } from "../rule.ts";
import { sameNode } from "../shared/nodes.ts";
import { type RectifierValve, rectifierValves } from "./rectifiers.ts";

export const rectifierSharing: Rule = {
  id: "supply/rectifier-sharing",
  severity: "warning",
  sentence: "Two rectifier valves stand plate to plate with nothing that makes them share.",
  why: "No two valves have the same drop: the one with the lower takes most of the current, wears out, and then the other does.",
  source:
    "common practice: a resistor of 47 Ω to 100 Ω in each plate's lead, or each pair of plates on a winding of its own",
  quiet:
    "Quiet where each plate has a resistor of its own, or a winding of its own, and on one valve with its two plates strapped.",
  bad: `amp "Two side by side"
transformer T1 200VA {
  primary 230V 5R               { a b }
  ht      300-0-300V 300mA 200R { htA gnd htB }
}
valve V1 GZ34 { plate1: htA, plate2: htB, cathode: HT }
valve V2 GZ34 { plate1: htA, plate2: htB, cathode: HT }
HT -- capacitor C1 47u 500V electrolytic -- gnd
HT -- resistor R1 2k 200W wirewound -- gnd
`,
  good: `amp "Each plate with its own resistor"
transformer T1 200VA {
  primary 230V 5R               { a b }
  ht      300-0-300V 300mA 200R { htA gnd htB }
}
htA -- resistor R2 47R 5W wirewound -- a1
htA -- resistor R3 47R 5W wirewound -- a2
htB -- resistor R4 47R 5W wirewound -- b1
htB -- resistor R5 47R 5W wirewound -- b2
valve V1 GZ34 { plate1: a1, plate2: b1, cathode: HT }
valve V2 GZ34 { plate1: a2, plate2: b2, cathode: HT }
HT -- capacitor C1 47u 500V electrolytic -- gnd
HT -- resistor R1 2k 200W wirewound -- gnd
`,
  leads: [
    { rule: "supply/rectifier-direct-current", sharing: "part", manner: "mark" },
    { rule: "supply/plate-impedance", sharing: "part", manner: "mark" },
  ],
  *check(context) {
    const { circuit } = context;
    const valves = rectifierValves(circuit);
    const told = new Set<RectifierValve>();
    for (const valve of valves) {
      yield;
      context.checked(valve.valve.reference);
      if (told.has(valve)) continue;
      const mates = valves.filter(
        (other) =>
          other.valve !== valve.valve &&
          sameNode(circuit, other.output, valve.output) &&
          other.plates.some((plate) => valve.plates.some((own) => sameNode(circuit, plate.net, own.net))),
      );
      if (mates.length === 0) continue;
      const group = [valve, ...mates];
      for (const one of group) told.add(one);
      yield finding(rectifierSharing, {
        message:
          `${listed(group.map((one) => one.key))} stand side by side with nothing between: the one with the lower drop takes most of ` +
          "the current. Give each plate a resistor of its own, 47 Ω to 100 Ω, of a few watts.",
        on: group.map((one) => one.valve.reference),
        place: valve.valve.referencePlace,
        related: mates.map((one) => relatedPart(one.valve, "on the same plates and the same reservoir")),
      });
    }
  },
};
