import type { NetIndex } from "../../circuit/model.ts";
import { criticalInductance, unloadedRise } from "../../facts/practice.ts";
import { ledBySupply } from "../circuit/common-cause.ts";
import { ends, limit, netName, partsOf, partsOn, quantity, relatedPart, solutions } from "../frame/index.ts";
import type { Finding, Rule, RuleContext } from "../rule.ts";
import { sameNode } from "../shared/nodes.ts";
import { rectifierValves } from "./rectifiers.ts";

export const unloaded: Rule = {
  id: "supply/unloaded",
  severity: "warning",
  sentence: "Without its load the supply soars.",
  why: "A choke-input supply gives nine tenths of the winding's rms volts only while the choke never lets go; unloaded it climbs to the peak, and everything on it must stand that.",
  source: criticalInductance.source,
  quiet:
    "Quiet on capacitor-input supplies, whose rise every part is held against in the states where it happens, and on choke-input " +
    "ones whose bleeder keeps the rise within 30 % in every state.",
  bad: `amp "Choke input, no bleeder to speak of"
transformer T1 200VA {
  primary 230V 5R               { a b }
  ht      400-0-400V 200mA 200R { htA gnd htB }
  rect    5V 3A                 { k f }
}
valve V1 5U4GB { plate1: htA, plate2: htB, cathode: k, heater: k f }
k -- choke L1 5H 200mA 100R -- HT0
HT0 -- capacitor C1 47u 700V electrolytic -- gnd
HT0 -- resistor R2 1M 3W 1kV -- gnd
HT0 -- switch S1 standby dc 700V 3A -- HT
HT -- resistor R1 3k 100W wirewound 1kV -- gnd
`,
  good: `amp "Choke input with its bleeder"
transformer T1 200VA {
  primary 230V 5R               { a b }
  ht      400-0-400V 200mA 200R { htA gnd htB }
  rect    5V 3A                 { k f }
}
valve V1 5U4GB { plate1: htA, plate2: htB, cathode: k, heater: k f }
k -- choke L1 10H 200mA 100R -- HT0
HT0 -- capacitor C1 47u 700V electrolytic -- gnd
HT0 -- resistor R2 8k2 50W wirewound 1kV -- gnd
HT0 -- switch S1 standby dc 700V 3A -- HT
HT -- resistor R1 3k 100W wirewound 1kV -- gnd
`,
  leads: ledBySupply,
  *check(context) {
    const { circuit } = context;
    for (const valve of rectifierValves(circuit)) {
      yield;
      if (valve.input !== "choke") continue;
      const choke = partsOf(circuit, "choke").find((part) =>
        (ends(part) ?? []).some((net) => sameNode(circuit, net, valve.output)),
      );
      const far = choke && (ends(choke) ?? []).find((net) => !sameNode(circuit, net, valve.output));
      if (!choke || far === undefined) continue;
      const found = rises(context, choke.reference, far);
      if (found) yield found;
    }
  },
};

function rises(context: RuleContext, choke: string, net: NetIndex): Finding | undefined {
  const { circuit, analysis } = context;
  const idle = analysis.solution("idle", "nominal");
  const loaded = idle?.solved ? Math.abs(idle.volts[net]) : Number.NaN;
  if (!(loaded > 1)) return undefined;
  let worst: { volts: number; state: "cold" | "standby" | "idle" | "drive" | "pulled" } | undefined;
  for (const solution of solutions(analysis, {
    levels: ["nominal"],
    states: ["cold", "standby"],
  })) {
    const volts = Math.abs(solution.volts[net]);
    if (!worst || volts > worst.volts) worst = { volts, state: solution.state };
  }
  if (!worst) return undefined;
  const part = circuit.partByReference.get(choke);
  return limit(context, unloaded, {
    on: [netName(circuit, net), choke],
    place: part?.referencePlace ?? circuit.nets[net].mentions[0],
    says: `${netName(circuit, net)} rises to`,
    value: worst.volts,
    limit: loaded * unloadedRise.share,
    limitIs: `${quantity(loaded, "V")} at idle, and practice allows`,
    unit: "V",
    state: worst.state,
    mains: "nominal",
    todo: "A bleeder that keeps the choke conducting through the whole cycle, or a larger choke.",
    related: [
      relatedPart(part, "lets go of its current without a load"),
      ...partsOn(circuit, net)
        .filter((other) => other.kind === "resistor" && ends(other)?.includes(circuit.ground ?? -1))
        .map((other) => relatedPart(other, "all that it has for a load then")),
    ],
  });
}
