import type { NetIndex } from "../../circuit/model.ts";
import { finding, netName, partsOf, partsOn, relatedPart } from "../frame/index.ts";
import type { Rule } from "../rule.ts";
import { type netsWith, topologyOf } from "../shared/nodes.ts";
import { misnamedSwitches } from "./misnamed-switch.ts";
import { rectifierValves } from "./rectifiers.ts";
import { reservoirAt } from "./reservoir-size.ts";
import { heatersInStandby } from "./standby-heaters.ts";

export const standby: Rule = {
  id: "supply/standby",
  severity: "warning",
  sentence: "The standby switch makes a hot rectifier fill an empty reservoir, or lets the heaters go cold.",
  why: "Closed after the heaters are warm, it throws discharged capacitors onto a rectifier that can give all it has: the worst moment of its life, at every use.",
  source:
    "common practice: the switch belongs behind the reservoir, or bridged by a resistor that keeps it charged",
  quiet:
    "Quiet where the reservoir is on the rectifier's side, where a resistor bridges the open contact, and with silicon rectifiers, which stand it. Heaters that standby lets go cold are told as advice, save where the file has no other switch for the mains; a switch called one for the mains that no mains comes to likewise.",
  bad: `amp "Standby between rectifier and reservoir"
transformer T1 100VA {
  primary 230V 10R              { a b }
  ht      270-0-270V 150mA 300R { htA gnd htB }
}
valve V1 GZ34 { plate1: htA, plate2: htB, cathode: k }
k -- switch S1 standby dc 600V 3A -- HT
HT -- capacitor C1 47u 500V electrolytic -- gnd
HT -- resistor R1 10k 100W wirewound 700V -- gnd
`,
  good: `amp "Standby behind the reservoir"
transformer T1 100VA {
  primary 230V 10R              { a b }
  ht      270-0-270V 150mA 300R { htA gnd htB }
}
valve V1 GZ34 { plate1: htA, plate2: htB, cathode: HT0 }
HT0 -- capacitor C1 47u 500V electrolytic -- gnd
HT0 -- resistor R2 220k 3W 600V -- gnd
HT0 -- switch S1 standby dc 600V 3A -- HT
HT -- resistor R1 10k 100W wirewound 700V -- gnd
`,
  leads: [{ rule: "supply/rectifier-hot-switch", sharing: "part", manner: "mark" }],
  *check(context) {
    const { circuit } = context;
    const open = topologyOf(circuit, "standby");
    const closed = topologyOf(circuit, "idle");
    const cold = heatersInStandby(context, standby);
    if (cold) yield cold;
    yield* misnamedSwitches(context, standby);
    for (const part of partsOf(circuit, "switch")) {
      yield;
      if (part.duty !== "standby") continue;
      context.checked(part.reference);
      for (const valve of rectifierValves(circuit)) {
        // On the dc side: the reservoir that it fills when closed is not on its cathode when open.
        const contact = part.poles.some((pole) => {
          const on = pole.throws.get("on");
          if (pole.common === undefined || on === undefined) return false;
          const [a, b] = [open.node[pole.common], open.node[on]];
          return a !== b && (a === open.node[valve.output] || b === open.node[valve.output]);
        });
        const onAc = part.poles.some((pole) => {
          const on = pole.throws.get("on");
          return (
            pole.common !== undefined &&
            on !== undefined &&
            open.node[pole.common] !== open.node[on] &&
            [pole.common, on].some(
              (net) =>
                isWindingReturn(circuit, net) ||
                valve.plates.some((plate) => closed.node[plate.net] === closed.node[net]),
            )
          );
        });
        const filled = reservoirAt(circuit, valve.output).parts;
        const kept = filled.filter((capacitor) =>
          [...capacitor.terminals.values()].some((net) => open.node[net] === open.node[valve.output]),
        );
        const emptied = onAc
          ? filled
          : contact
            ? filled.filter((capacitor) => !kept.includes(capacitor))
            : [];
        if (emptied.length === 0 || (contact && !onAc && kept.length > 0) || bridged(context, part.reference))
          continue;
        yield finding(standby, {
          message:
            `${part.reference} stands ${onAc ? "in the winding's lead" : `between ${valve.key} and its reservoir`}: closed with the heaters hot, it makes ` +
            `${valve.key} fill ${emptied.map((one) => one.reference).join(" and ")} from empty. Move it behind the reservoir` +
            ` (${netName(circuit, valve.output)}), or bridge it with a resistor of some 47 kΩ that keeps it charged.`,
          on: [part.reference, valve.valve.reference],
          place: part.referencePlace,
          state: "standby",
          related: [
            relatedPart(valve.valve, "the rectifier"),
            ...emptied.slice(0, 2).map((one) => relatedPart(one, "filled from empty")),
          ],
        });
      }
    }
  },
};

/** The tap of a centre-tapped winding, or the end of one, on a switch: it breaks the ac. */
function isWindingReturn(circuit: Parameters<typeof netsWith>[0], net: NetIndex): boolean {
  return partsOf(circuit, "transformer").some((transformer) =>
    transformer.secondaries.some((winding) => winding.volts.value > 60 && winding.nets.includes(net)),
  );
}

/** A resistor across the switch's contacts. */
function bridged(context: Parameters<Rule["check"]>[0], reference: string): boolean {
  const part = context.circuit.partByReference.get(reference);
  if (part?.kind !== "switch") return false;
  return part.poles.some((pole) => {
    const on = pole.throws.get("on");
    if (pole.common === undefined || on === undefined) return false;
    const across = partsOn(context.circuit, pole.common).filter(
      (other) => other.kind === "resistor" && other.ohms.value < 1e6,
    );
    return across.some((other) => [...other.terminals.values()].includes(on));
  });
}
