import type { Part } from "../../circuit/model.ts";
import { topOf } from "../frame/found.ts";
import { finding, listed, partsOn, quantity, relatedPart } from "../frame/index.ts";
import type { Rule } from "../rule.ts";
import { MAINS_CAUTION } from "./caution.ts";
import { example } from "./example.ts";
import {
  arrival,
  type Edge,
  type MainsSide,
  mainsSide,
  type Reach,
  reach,
  way,
  wayText,
  wiresOnWay,
} from "./graph.ts";

export const fuseFirst: Rule = {
  id: "mains/fuse-first",
  severity: "error",
  sentence: "The active must come to the fuse before it comes to anything else.",
  why:
    "Whatever stands ahead of the fuse is protected by nothing but the fuse of the building: a fault there, or from its " +
    "wiring to the chassis, burns before it blows.",
  source:
    "common practice (no standard was found that fixes the order; BS 7671 132.14.1 puts the fuse in the active)",
  quiet:
    "Quiet on class X and Y capacitors, the chokes and the discharge resistor of a filter at the entry, since filtered " +
    "inlets are built that way; on wires and terminal strips; and on a fuse in each conductor.",
  caution: MAINS_CAUTION,
  bad: example({
    name: "Switch ahead of the fuse",
    way: `inA -- switch S1 mains 250V 6A -- sw
sw -- fuse F1 T315mA 250V -- live`,
  }),
  good: example({ name: "Fuse ahead of the switch" }),
  *check(context) {
    const { mains } = context.circuit;
    if (!mains.given)
      context.unchecked(
        "mains",
        `the mains' volts and tolerance (no mains line: ${quantity(mains.volts.nominal, "V")} ${quantity(mains.hertz, "Hz")} are taken)`,
        topOf(context.circuit),
      );
    const side = mainsSide(context.circuit);
    if (!side) {
      context.unchecked(
        "mains",
        "the mains side: fuse, switch, ratings (no cord or inlet)",
        topOf(context.circuit),
      );
      return;
    }
    for (const entry of side.entries) {
      yield;
      const lead = entry.leads.get("active");
      if (!lead) continue;
      context.checked(entry.reference);
      const reached = reach(side, [lead.net], { fuses: false });
      const ahead = metFirst(side, reached);
      if (ahead.length === 0) continue;
      const [first] = ahead;
      const names = [...new Set(ahead.map((edge) => edge.label))];
      const later = side.fuses.find((fuse) => [...fuse.terminals.values()].some((net) => reached.has(net)));
      const inNeutral = side.fuses.length > 0 && !later;
      const primary = side.primaries.find((entry) => arrival(reached, entry) !== undefined);
      const steps =
        primary && !later
          ? wayText("active", way(reached, arrival(reached, primary) ?? lead.net), primary.label)
          : wayText("active", [first], later?.reference);
      const fuses = listed(side.fuses.map((fuse) => fuse.reference));
      const what =
        side.fuses.length === 0
          ? `no fuse anywhere on the mains side; ${names[0]} is the first thing that the active meets`
          : inNeutral
            ? `fuse ${fuses} only in the neutral; ${names[0]} stands on the bare active`
            : `${listed(names)} ${names.length > 1 ? "stand" : "stands"} ahead of the fuse ${later?.reference}`;
      yield finding(fuseFirst, {
        message:
          `${steps}: ${what}. Take the active from ${entry.reference} to a fuse first, ` +
          `its tip contact on the incoming side, and everything else behind it.`,
        on: [
          first.part.reference,
          ...(later ? [later.reference] : side.fuses.map((fuse) => fuse.reference)),
          entry.reference,
        ],
        place: first.part.place,
        related: [
          { on: entry.reference, message: "the active comes in here", place: lead.place },
          relatedPart(later ?? side.fuses[0], "the fuse"),
          ...wiresTo(reached, first).map((wire) => relatedPart(wire, "the active goes over this wire")),
        ],
      });
    }
  },
};

/** The wires on the unfused way to a part. */
function wiresTo(reached: Reach, edge: Edge): readonly Part[] {
  const near = [...reached.keys()].find((net) => [...edge.part.terminals.values()].includes(net));
  return near === undefined ? [] : wiresOnWay(reached, near);
}

/** Parts on the unfused active that have no business there, nearest first. */
function metFirst(side: MainsSide, reached: Reach): Edge[] {
  const nets = [...reached.keys()].filter((net) => !side.earthy.has(net));
  const filtered = nets.some((net) => partsOn(side.circuit, net).some(isSafetyCapacitor));
  const met = new Map<string, Edge>();
  for (const net of nets) {
    for (const edge of side.edges.get(net) ?? []) {
      if (!met.has(edge.label) && !passed(edge, filtered)) met.set(edge.label, edge);
    }
  }
  return [...met.values()];
}

function passed(edge: Edge, filtered: boolean): boolean {
  const { part } = edge;
  if (part.kind === "fuse" || part.kind === "wire" || part.kind === "bond") return true;
  if (isSafetyCapacitor(part)) return true;
  // The rest of a filter: its chokes, and the resistor that empties its capacitor.
  return filtered && (part.kind === "choke" || (part.kind === "resistor" && edge.manner === "leak"));
}

function isSafetyCapacitor(part: Part): boolean {
  return part.kind === "capacitor" && part.safetyClass !== undefined;
}
