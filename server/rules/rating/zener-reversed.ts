import type { NetIndex, Zener } from "../../circuit/model.ts";
import { zenerForward } from "../../facts/practice.ts";
import { finding, partsOf, partsOn, quantity, relatedNet } from "../frame/index.ts";
import type { Rule, RuleContext } from "../rule.ts";
import { netsWith } from "../shared/nodes.ts";

export const zenerReversed: Rule = {
  id: "rating/zener-reversed",
  severity: "warning",
  sentence: "The zener is the wrong way round: it holds its forward drop and not its volts.",
  why: "Forward it is a plain diode: what it was to hold at its volts is held at less than one, and what feeds it drops all the rest.",
  source: zenerForward.source,
  quiet:
    "Quiet where it does not conduct forward without a signal, and on zeners back to back, of which one always does.",
  bad: `amp "A zener with its anode on the supply"
source B1 100V { plus: HT, minus: gnd }
HT -- resistor R1 10k 3W -- z
z -- zener D1 56V 1W -- gnd
z -- resistor R2 100k 0.5W -- gnd
`,
  good: `amp "A zener with its cathode on the supply"
source B1 100V { plus: HT, minus: gnd }
HT -- resistor R1 10k 3W -- z
gnd -- zener D1 56V 1W -- z
z -- resistor R2 100k 0.5W -- gnd
`,
  leads: [
    { rule: "supply/no-high-tension", sharing: "any", manner: "mark" },
    { rule: "rating/resistor-power", sharing: "any", manner: "mark" },
    { rule: "valve/bias-cold", sharing: "any", manner: "mark" },
    { rule: "valve/bias-missing", sharing: "any", manner: "mark" },
  ],
  *check(context) {
    const { circuit, analysis } = context;
    const idle = analysis.solution("idle", "nominal");
    if (!idle?.solved) return;
    for (const part of partsOf(circuit, "zener")) {
      yield;
      const [anode, cathode] = [part.terminals.get("anode"), part.terminals.get("cathode")];
      if (anode === undefined || cathode === undefined) continue;
      const forward = idle.volts[anode] - idle.volts[cathode];
      if (Number.isNaN(forward)) continue;
      context.checked(part.reference);
      const amps = Math.abs(idle.readings.get(part.reference)?.amps ?? 0);
      if (!(forward > zenerForward.volts) || !(amps > zenerForward.amps)) continue;
      if (backToBack(context, part, anode) || backToBack(context, part, cathode)) continue;
      yield finding(zenerReversed, {
        message:
          `${part.reference} is the wrong way round: it conducts forward at idle at nominal mains (${quantity(amps, "A")}), and holds ${quantity(forward, "V")} ` +
          `where its ${quantity(part.volts.value, "V")} were meant. Turn it round: its cathode goes to the more positive side.`,
        on: part.reference,
        place: part.referencePlace,
        state: "idle",
        mains: "nominal",
        value: forward,
        limit: zenerForward.volts,
        unit: "V",
        related: [
          relatedNet(circuit, anode, "its anode, the more positive side as it stands"),
          relatedNet(circuit, cathode, "its cathode"),
        ],
      });
    }
  },
};

/** True where at this end another zener or diode faces it, with nothing else between them. */
function backToBack({ circuit }: RuleContext, part: Zener, net: NetIndex): boolean {
  const nets = netsWith(circuit, net);
  if (circuit.ground !== undefined && nets.includes(circuit.ground)) return false;
  const others = [...new Set(nets.flatMap((own) => partsOn(circuit, own)))].filter(
    (other) => other !== part && other.kind !== "wire",
  );
  const [other] = others;
  if (others.length !== 1 || (other.kind !== "zener" && other.kind !== "diode")) return false;
  const mine = part.terminals.get("anode") === net ? "anode" : "cathode";
  return nets.includes(other.terminals.get(mine) ?? -1);
}
