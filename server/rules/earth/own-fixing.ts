import type { CordOrInlet, Lead, Part } from "../../circuit/model.ts";
import { called, factPlace, finding, listed, netName, partsOn, relatedPart } from "../frame/index.ts";
import { MAINS_CAUTION } from "../mains/caution.ts";
import { example } from "../mains/example.ts";
import type { Finding, Rule, RuleContext } from "../rule.ts";
import { type ProtectivePath, protectivePath, type Step, stepsTo, walk } from "./path.ts";

export const ownFixing: Rule = {
  id: "earth/own-fixing",
  severity: "error",
  sentence: "The earth core needs a fixing of its own that serves nothing else.",
  why:
    "A fixing that also holds a transformer, a tag strip or other leads is undone in service, and the earth is undone " +
    "with it; nothing shows that it has gone until a fault needs it.",
  source: "IEC 60204-1 8.2.4: the protective conductor's connecting point has no other duty",
  quiet:
    "Quiet on the class X and Y capacitors of a filtered inlet, which sit on its earth terminal by design, and on leads " +
    "that go to the chassis elsewhere. A bond that does not say its fixing is told as unchecked.",
  caution: MAINS_CAUTION,
  bad: example({
    name: "Shared earth fixing",
    earth: `inE -- bond E1 shared-fixing -- chassis
gnd -- bond E2 -- chassis`,
  }),
  good: example({ name: "Earth fixing of its own" }),
  *check(context) {
    const path = protectivePath(context.circuit);
    if (!path) return;
    for (const entry of path.entries) {
      yield;
      const lead = entry.leads.get("earth");
      if (lead) yield* fixingOf(context, path, entry, lead);
    }
  },
};

function* fixingOf(
  context: RuleContext,
  path: ProtectivePath,
  entry: CordOrInlet,
  lead: Lead,
): Generator<Finding> {
  const { circuit } = context;
  const ways = walk(circuit, [lead.net], false);
  const steps: readonly Step[] =
    path.metal !== undefined && ways.has(path.metal) ? stepsTo(ways, path.metal) : [];
  const bonds = steps.length > 0 ? steps.map((step) => step.part) : partsOn(circuit, lead.net);
  const bond = bonds.findLast((part) => part.kind === "bond");
  if (bond?.kind !== "bond")
    context.unchecked(entry.reference, "the fixing of its earth (no bond in the file)", lead.place);
  // Metal on the way, such as a transformer's frame, has its own fixing and hands the earth on by the next: each of them counts.
  for (const held of steps.length > 0 ? bonds : bond ? [bond] : []) {
    if (held.kind !== "bond") continue;
    if (held.fixing === undefined) {
      // A bond without a reference is told on the cord, whose earth it holds.
      const on = held.unnamed ? entry.reference : held.reference;
      context.unchecked(on, "whether the earth has a fixing of its own", held.place);
      continue;
    }
    context.checked(held.reference);
    if (held.fixing === "shared-fixing") {
      const place = factPlace(held, "fixing");
      yield finding(ownFixing, {
        message:
          `The earth of ${entry.reference} is fixed at ${called(circuit, held)} with something else ` +
          "(shared-fixing). Give it a bolt of its own: ring lug, toothed washer and two nuts, on bare metal.",
        on: [held.reference, entry.reference],
        place,
        related: [{ on: entry.reference, message: "the earth comes in here", place: lead.place }],
      });
    }
  }

  const between = steps.length > 0 ? [lead.net, ...steps.slice(0, -1).map((step) => step.to)] : [lead.net];
  const onPath = new Set<Part>(steps.length > 0 ? steps.map((step) => step.part) : bond ? [bond] : []);
  // A core that no bond leaves has other trouble (earth/missing, earth/switched).
  if (onPath.size === 0) return;
  for (const net of new Set(between)) {
    if (net === path.metal || net === circuit.chassis) continue;
    context.checked(netName(circuit, net));
    const others = partsOn(circuit, net).filter(
      (part) => part !== entry && !onPath.has(part) && !ofInlet(entry, part),
    );
    if (others.length === 0) continue;
    const names = others.map((part) => called(circuit, part));
    if (net === circuit.ground && bond) {
      yield finding(ownFixing, {
        message:
          `The earth of ${entry.reference} goes to gnd, circuit common, and only with it to ` +
          `${path.metal === undefined ? "the metal" : netName(circuit, path.metal)}: every lead on common shares the ` +
          "protective path. Take the earth core straight to a fixing of its own on the chassis.",
        on: [netName(circuit, net), onPathName(steps, bond), entry.reference],
        place: lead.place,
        related: [relatedPart(bond, "the last joint before the metal")],
      });
      continue;
    }
    yield finding(ownFixing, {
      message:
        `${listed(names).replace(/^the /, "The ")} ${names.length > 1 ? "share" : "shares"} the net ${netName(circuit, net)} with the earth of ` +
        `${entry.reference}, ahead of its bond${bond && !bond.unnamed ? ` ${bond.reference}` : ""}: the earth core goes ` +
        "to its own fixing alone. Take the other lead to the chassis at another point.",
      on: [netName(circuit, net), ...others.map((part) => part.reference), entry.reference],
      place: others[0].place,
      related: [
        { on: entry.reference, message: "the earth comes in here", place: lead.place },
        ...others.slice(1).map((part) => relatedPart(part, "another lead on the same net")),
      ],
    });
  }
}

function onPathName(steps: readonly Step[], bond: Part): string {
  return (steps[0]?.part ?? bond).reference;
}

function ofInlet(entry: CordOrInlet, part: Part): boolean {
  return entry.kind === "inlet" && part.kind === "capacitor" && part.safetyClass !== undefined;
}
