import type { Circuit, NetIndex } from "../../circuit/model.ts";
import { called, finding, netName, partsOf } from "../frame/index.ts";
import type { Finding, Rule } from "../rule.ts";
import { MAINS_CAUTION } from "./caution.ts";
import { example } from "./example.ts";
import { type MainsSide, mainsSide, reach, way, wayText } from "./graph.ts";

export const crossed: Rule = {
  id: "mains/crossed",
  severity: "error",
  sentence: "Active or neutral is joined to the chassis or to circuit common.",
  why:
    "The metal, or everything on circuit common down to the strings of the guitar, is then part of the mains: at once " +
    "with the active, and with the neutral as soon as the plug is turned or a neutral opens.",
  source: "IEC 62368-1 clause 5 (accessible parts are insulated from the mains)",
  quiet:
    "Quiet on capacitors (mains/line-capacitor and mains/touch-current tell those), on resistors above 1 kΩ (their " +
    "current counts in mains/touch-current), and on a transformer's own insulation.",
  caution: MAINS_CAUTION,
  bad: example({
    name: "Neutral on the chassis",
    earth: `inE -- bond E1 own-fixing -- chassis
gnd -- bond E2 -- chassis
inN -- wire W3 -- chassis`,
  }),
  good: example({ name: "Nothing crossed" }),
  *check(context) {
    const side = mainsSide(context.circuit);
    if (!side) return;
    for (const entry of side.entries) context.checked(entry.reference);
    const told = new Set<string>();
    for (const role of ["active", "neutral"] as const) {
      const from = side[role];
      const conducted = cross(side, role, from, false);
      // What the conductor itself comes to leads; only where it comes to nothing are the loads followed.
      for (const found of conducted.length > 0 ? conducted : cross(side, role, from, true)) {
        const key = found.place.range.start + found.on.join();
        if (told.has(key)) continue;
        told.add(key);
        yield found;
      }
    }
  },
};

function cross(
  side: MainsSide,
  role: "active" | "neutral",
  from: readonly NetIndex[],
  loads: boolean,
): Finding[] {
  const { circuit } = side;
  // Through loads, the way must not run over the other conductor: that one is told by itself.
  const other = new Set(reach(side, role === "active" ? side.neutral : side.active).keys());
  const reached = reach(side, from, { loads });
  const touched = touchable(circuit);
  for (const net of reached.keys()) {
    if (!side.earthy.has(net) && !touched.has(net)) continue;
    const steps = way(reached, net);
    const passesOther =
      loads && [...backwards(reached, net)].some((at) => other.has(at) && !side.earthy.has(at));
    if (passesOther) continue;
    const last = reached.get(net)?.edge;
    const entry = side.entries[0];
    const name = netName(circuit, net);
    const joined = last ? `${called(circuit, last.part)} joins them` : `${entry.reference} is wired to it`;
    return [
      finding(crossed, {
        message:
          `${wayText(role, steps)} -> ${name}: the ${role} is joined to ${name}${nature(side, net)}${touched.get(net) ?? ""} (${joined}). ` +
          "Take the joint out: the mains ends at the transformer's primary, and the metal belongs to the earth alone.",
        on: [last?.part.reference ?? entry.reference, name, ...steps.map((edge) => edge.part.reference)],
        place: last?.part.place ?? entry.leads.get(role)?.place ?? entry.place,
        related: side.entries.map((part) => {
          const lead = part.leads.get(role);
          return lead && { on: part.reference, message: `the ${role} comes in here`, place: lead.place };
        }),
      }),
    ];
  }
  return [];
}

/** Metal and the contacts of jacks: what a hand or a plug's shaft comes to, and what it is. */
function touchable(circuit: Circuit): ReadonlyMap<NetIndex, string> {
  const found = new Map<NetIndex, string>();
  for (const { net } of circuit.metals) found.set(net, ", metal that can be touched");
  for (const jack of partsOf(circuit, "jack"))
    for (const [terminal, net] of jack.terminals)
      if (net !== circuit.ground && !terminal.endsWith("-break"))
        found.set(net, `, the ${terminal} of ${jack.reference}, which can be touched`);
  return found;
}

function* backwards(reached: ReturnType<typeof reach>, net: NetIndex): Generator<NetIndex> {
  yield net;
  for (let step = reached.get(net); step; step = reached.get(step.from)) yield step.from;
}

function nature(side: MainsSide, net: NetIndex): string {
  if (net === side.circuit.ground) return ", circuit common";
  if (side.earth.includes(net)) return ", the earth core";
  return "";
}
