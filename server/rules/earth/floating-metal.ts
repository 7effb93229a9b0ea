import type { Jack, NetIndex } from "../../circuit/model.ts";
import { finding, listed, netName, partsOf, relatedPart } from "../frame/index.ts";
import { MAINS_CAUTION } from "../mains/caution.ts";
import { example } from "../mains/example.ts";
import type { Rule } from "../rule.ts";
import { protectivePath, type Steps, walk } from "./path.ts";

export const floatingMetal: Rule = {
  id: "earth/floating-metal",
  severity: "error",
  sentence: "Metal that can be touched is bonded to nothing.",
  why: "A panel or a jack that touches nothing stays at whatever a fault puts on it, and no fuse ever learns of it.",
  source: "IEC 62368-1 clause 5.6, IEC 61140: every accessible conductive part of class I is bonded",
  quiet:
    "Quiet on metal that is bonded to the chassis, however the chassis itself is earthed (earth/missing and " +
    "earth/switched tell that), on jacks that are not insulated (they touch the chassis), on insulated jacks whose " +
    "sleeve comes to common or chassis in any way, and in files without a cord or inlet.",
  caution: MAINS_CAUTION,
  bad: example({
    name: "Panel without a bond",
    rest: `h1 -- lamp LP1 6.3V 5A -- gnd
metal panel`,
  }),
  good: example({
    name: "Panel bonded",
    rest: `h1 -- lamp LP1 6.3V 5A -- gnd
metal panel
panel -- bond E3 own-fixing -- chassis`,
  }),
  *check(context) {
    const { circuit } = context;
    const path = protectivePath(circuit);
    if (!path) return;
    const from = [...(path.metal === undefined ? [] : [path.metal]), ...path.cores];
    // Looked for when there is something to ask of it.
    let found: Steps | undefined;
    const isBonded = (net: NetIndex): boolean => {
      found ??= walk(circuit, from, true);
      return found.has(net);
    };
    for (const { net, place } of circuit.metals) {
      yield;
      if (net === path.metal) continue;
      const name = netName(circuit, net);
      context.checked(name);
      if (isBonded(net)) continue;
      yield finding(floatingMetal, {
        message: `${name} is metal that can be touched, and nothing bonds it. Bond it: ${name} -- bond E3 own-fixing -- chassis.`,
        on: [name],
        place,
      });
    }

    // Everything on common hangs together; that it never comes to the chassis is one fault, told at the jacks.
    const afloat = new Map<NetIndex, Jack[]>();
    for (const jack of partsOf(circuit, "jack")) {
      yield;
      const sleeve = jack.terminals.get("sleeve");
      if (sleeve === undefined || !jack.insulated) continue;
      context.checked(jack.reference);
      if (isBonded(sleeve)) continue;
      const root = [...walk(circuit, [sleeve], true).keys()].includes(circuit.ground ?? -1)
        ? (circuit.ground ?? sleeve)
        : sleeve;
      afloat.set(root, [...(afloat.get(root) ?? []), jack]);
    }
    for (const [net, jacks] of afloat) {
      const names = jacks.map((jack) => jack.reference);
      const common = net === circuit.ground;
      yield finding(floatingMetal, {
        message:
          `The ${names.length > 1 ? "sleeves" : "sleeve"} of ${listed(names)} ${names.length > 1 ? "are" : "is"} metal that ` +
          `can be touched, on ${netName(circuit, net)}${common ? ", circuit common," : ""} which nothing joins to the ` +
          "chassis. Bond circuit common to the chassis at one point.",
        on: [...names, netName(circuit, net)],
        place: jacks[0].terminalPlaces.get("sleeve") ?? jacks[0].place,
        related: jacks.slice(1).map((jack) => relatedPart(jack, "its sleeve too")),
      });
    }
  },
};
