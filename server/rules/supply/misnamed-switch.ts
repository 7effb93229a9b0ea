/** A switch that is called one for the mains, and that no mains comes to: it is held closed in every state. */
import type { Circuit, NetIndex, Switch } from "../../circuit/model.ts";
import { finding, listed, netName, partsOf, partsOn, relatedPart } from "../frame/index.ts";
import type { Finding, Rule, RuleContext } from "../rule.ts";
import { netsWith } from "../shared/nodes.ts";

/** @param rule in whose name it is told */
export function* misnamedSwitches(context: RuleContext, rule: Rule): Generator<Finding> {
  const { circuit } = context;
  const fed = partsOf(circuit, "transformer").filter(({ primary }) => primary !== undefined);
  if (fed.length === 0) return;
  for (const part of partsOf(circuit, "switch")) {
    if (part.duty !== "mains" || onMains(circuit, part)) continue;
    const broken = part.poles.flatMap(({ common }) => common ?? []);
    if (broken.length === 0 || broken.every((net) => isBare(circuit, part, net))) continue;
    yield finding(rule, {
      severity: "advice",
      message:
        `${part.reference} is called a mains switch, and no mains comes to it: it breaks ${listed([
          ...new Set(broken.map((net) => netName(circuit, net))),
        ])}. As one it is closed in every state that is looked at here. If it is the standby switch, call it standby; else give it a ` +
        "name of its own.",
      on: part.reference,
      place: part.referencePlace,
      related: fed
        .slice(0, 1)
        .map((transformer) => relatedPart(transformer, "the mains go no further than this")),
    });
  }
}

/** Whether the mains, or a primary's end, come to any of its contacts, through what stands in a mains lead. */
function onMains(circuit: Circuit, part: Switch): boolean {
  const seen = new Set<NetIndex>();
  const come = (net: NetIndex | undefined): void => {
    if (net !== undefined) for (const own of netsWith(circuit, net)) seen.add(own);
  };
  for (const net of part.terminals.values()) come(net);
  for (const { common, throws } of part.poles) for (const net of [common, ...throws.values()]) come(net);
  for (const net of seen) {
    for (const other of partsOn(circuit, net)) {
      switch (other.kind) {
        case "cord":
        case "inlet":
          return true;
        case "transformer":
          if (other.primary?.nets.includes(net)) return true;
          break;
        case "switch":
          for (const { common, throws } of other.poles)
            if (common === net || [...throws.values()].includes(net))
              for (const far of [common, ...throws.values()]) come(far);
          break;
        case "fuse":
        case "wire":
        case "thermistor":
          for (const far of other.terminals.values()) come(far);
          break;
        default:
          break;
      }
    }
  }
  return false;
}

/** Nothing else hangs on the net: what is not joined is told elsewhere. */
const isBare = (circuit: Circuit, part: Switch, net: NetIndex): boolean =>
  partsOn(circuit, net).every((other) => other === part);
