import type { Circuit, Switch } from "../../circuit/model.ts";
import { finding, listed, partsOf, relatedPart } from "../frame/index.ts";
import type { Rule } from "../rule.ts";
import { MAINS_CAUTION } from "./caution.ts";
import { example } from "./example.ts";
import { firstLoad, mainsSide, reach, way, wayText } from "./graph.ts";

export const switchMissing: Rule = {
  id: "mains/switch-missing",
  severity: "warning",
  sentence: "The amplifier has no mains switch: it goes off only at the wall.",
  why:
    "Whoever smells smoke reaches for the switch on the panel. Without one the transformer and all the mains wiring stay live " +
    "until the plug is out, and a standby switch that is taken for it leaves them so.",
  source:
    "common practice; IEC 62368-1 annex L, from memory: a plug within reach may be the disconnect device, where the local code allows it",
  quiet:
    "Quiet where any switch takes a primary or another load off a conductor (mains/switch-active and mains/neutral-broken say " +
    "whether it is the right one), where the active comes to no load, and on a bench file without a cord or inlet.",
  caution: MAINS_CAUTION,
  bad: example({
    name: "Off only at the wall",
    way: "inA -- fuse F1 T315mA 250V -- live",
  }),
  good: example({ name: "Switch in the active" }),
  *check(context) {
    const side = mainsSide(context.circuit);
    if (!side) return;
    for (const entry of side.entries) context.checked(entry.reference);
    yield;
    if (side.mainsSwitches.length > 0) return;
    const reached = reach(side, side.active);
    const first = firstLoad(side, reached);
    if (!first) return;
    const entry = side.entries[0];
    const lead = entry.leads.get("active");
    const others = takenForIt(context.circuit);
    yield finding(switchMissing, {
      message:
        `${wayText("active", way(reached, first.on), first.edge.label)}: no mains switch on the way` +
        `${instead(others)}, so ${first.edge.label} and its wiring stay live until the plug is out. Fit a switch behind the ` +
        "fuse, double-pole where the plug goes in either way round.",
      on: [entry.reference, first.edge.part.reference, ...others.map((part) => part.reference)],
      place: lead?.place ?? entry.place,
      related: [
        relatedPart(first.edge.part, "it stays live for as long as the plug is in"),
        ...others.map((part) => relatedPart(part, "it leaves the mains side live")),
      ],
    });
  },
};

/** Switches that are called one for the mains or for standby, and stand where they take no mains off. */
function takenForIt(circuit: Circuit): readonly Switch[] {
  return partsOf(circuit, "switch").filter((part) => part.duty === "mains" || part.duty === "standby");
}

function instead(switches: readonly Switch[]): string {
  if (switches.length === 0) return "";
  const names = listed(switches.map((part) => part.reference));
  return ` (${names} ${switches.length > 1 ? "break" : "breaks"} only what stands behind)`;
}
