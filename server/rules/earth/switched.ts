import type { NetIndex, Part } from "../../circuit/model.ts";
import { finding, listed, netName, relatedPart } from "../frame/index.ts";
import { MAINS_CAUTION } from "../mains/caution.ts";
import { example } from "../mains/example.ts";
import type { Finding, Rule } from "../rule.ts";
import { protectivePath, type Steps, stepsText, stepsTo, walk } from "./path.ts";

export const switched: Rule = {
  id: "earth/switched",
  severity: "error",
  sentence: "The protective earth runs through a switch, a fuse, a resistor or a plug-in part.",
  why:
    "The protective path must carry the full fault current until the fuse blows, and must never open. A resistor burns " +
    "out in the first moment of the fault, and then the metal is live.",
  source: "IEC 60950-1: no switch and no fuse in the protective conductor; IEC 62368-1 clause 5.6",
  quiet:
    "Quiet where bonds and wires alone make the path, whatever lies beside them, and on a loop breaker between circuit " +
    "common and chassis, which is where it belongs (earth/common-lift looks at it).",
  caution: MAINS_CAUTION,
  bad: example({
    name: "Earth lift in the protective path",
    earth: `inE -- bond E1 own-fixing -- lug -- resistor R9 10R 5W wirewound -- chassis
gnd -- bond E2 -- chassis`,
  }),
  good: example({ name: "Earth straight to the chassis" }),
  *check(context) {
    const { circuit } = context;
    const path = protectivePath(circuit);
    if (!path || path.cores.length === 0) return;
    if (path.metal !== undefined) {
      context.checked(netName(circuit, path.metal));
      if (!path.solid.has(path.metal) && path.weak.has(path.metal))
        yield weakWay(path.weak, path.metal, "earth");
    }
    for (const { net } of circuit.metals) {
      yield;
      if (net === path.metal) continue;
      const from = path.metal === undefined ? path.cores : [path.metal, ...path.cores];
      if (walk(circuit, from, false).has(net)) continue;
      const weak = walk(circuit, from, true);
      context.checked(netName(circuit, net));
      if (weak.has(net)) yield weakWay(weak, net, netName(circuit, from[0]));
    }

    function weakWay(steps: Steps, to: NetIndex, start: string): Finding {
      const taken = stepsTo(steps, to);
      const parts = taken.filter((step) => !step.solid).map((step) => step.part);
      const names = listed(parts.map((part) => part.reference));
      return finding(switched, {
        message:
          `${stepsText(circuit, taken, start)}: the protective path to ${netName(circuit, to)} goes through ${names} ` +
          `(${listed([...new Set(parts.map(nature))])}). Bond ${netName(circuit, to)} with a wire and a bolt, nothing else; ` +
          "a loop breaker belongs between circuit common and chassis.",
        on: [...parts.map((part) => part.reference), netName(circuit, to)],
        place: parts[0]?.place ?? taken[0].part.place,
        related: [
          ...(path?.entries ?? []).map((entry) => {
            const lead = entry.leads.get("earth");
            return lead && { on: entry.reference, message: "the earth comes in here", place: lead.place };
          }),
          ...parts.slice(1).map((part) => relatedPart(part, "also in the path")),
        ],
      });
    }
  },
};

function nature(part: Part): string {
  switch (part.kind) {
    case "switch":
      return "a switch opens";
    case "fuse":
      return "a fuse blows";
    case "jack":
      return "a jack is not a protective joint";
    case "lamp":
      return "a lamp is plugged in, and burns out";
    case "diode":
    case "zener":
    case "bridge":
      return "rectifiers open when they are overloaded";
    default:
      return `a ${part.kind} does not carry a fault`;
  }
}
