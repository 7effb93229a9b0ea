import type { CordOrInlet } from "../../circuit/model.ts";
import { topOf } from "../frame/found.ts";
import { finding, netName, relatedNet } from "../frame/index.ts";
import { MAINS_CAUTION } from "../mains/caution.ts";
import { example } from "../mains/example.ts";
import type { Finding, Rule, RuleContext } from "../rule.ts";
import { type ProtectivePath, protectivePath } from "./path.ts";

export const missing: Rule = {
  id: "earth/missing",
  severity: "error",
  sentence: "A metal chassis has no protective earth.",
  why:
    "One fault from the mains to the chassis, and every knob, jack and guitar string stands at the full supply voltage, " +
    "with nothing to blow the fuse.",
  source: "IEC 62368-1 clause 5.6 and IEC 61140 (class I)",
  quiet:
    "Quiet where the file names no metal at all (then it is told as unchecked), and where the earth does arrive but " +
    "through something that can open: that is earth/switched.",
  caution: MAINS_CAUTION,
  bad: example({
    name: "Two-core cord",
    cord: `cord W1 1.0mm2 anchored {
  active:  inA 60mm brown
  neutral: inN 60mm blue
}`,
    earth: "gnd -- bond E2 -- chassis",
  }),
  good: example({ name: "Three-core cord" }),
  leads: [{ rule: "circuit/single-use-net", sharing: "part", manner: "attach" }],
  *check(context) {
    const { circuit } = context;
    const path = protectivePath(circuit);
    if (!path) {
      context.unchecked("mains", "the protective earth (no cord or inlet)", topOf(circuit));
      return;
    }
    const touching = circuit.parts.some((part) => part.kind === "jack" && !part.insulated);
    const hasMetal = circuit.chassis !== undefined || circuit.metals.length > 0 || touching;
    if (!hasMetal && path.cores.length === 0) {
      const [entry] = path.entries;
      context.unchecked(entry.reference, "the protective earth (the file names no chassis)", entry.place);
      return;
    }
    context.checked(path.metal === undefined ? "chassis" : netName(circuit, path.metal));
    const reached = path.metal !== undefined && path.weak.has(path.metal);
    for (const entry of path.entries) {
      yield;
      if (!entry.leads.has("earth") && !reached) yield noCore(entry, context);
    }
    if (reached || path.cores.length === 0) return;
    yield endsNowhere(path, context);
  },
};

function noCore(entry: CordOrInlet, { circuit }: RuleContext): Finding {
  return finding(missing, {
    message:
      `${entry.reference} has no earth ${entry.kind === "cord" ? "core" : "terminal"}, and the chassis is metal: a fault ` +
      "to it puts the full mains on everything that can be touched. Fit a three-core cord, its earth on a fixing of its own.",
    on: [entry.reference, "chassis"],
    place: entry.referencePlace,
    related: [
      relatedNet(circuit, circuit.chassis ?? circuit.metals[0]?.net, "the metal that can be touched"),
    ],
  });
}

function endsNowhere(path: ProtectivePath, { circuit }: RuleContext): Finding {
  const entry = path.entries.find((part) => part.leads.has("earth")) ?? path.entries[0];
  const lead = entry.leads.get("earth");
  const end = netName(circuit, path.cores[0]);
  const target = path.metal === undefined ? "any metal" : netName(circuit, path.metal);
  return finding(missing, {
    message:
      `The earth of ${entry.reference} ends on ${end} and never comes to ${target}. Bond it: ` +
      `${end} -- bond E1 own-fixing -- chassis.`,
    on: [entry.reference, target === "any metal" ? "chassis" : target, end],
    place: lead?.place ?? entry.referencePlace,
    related: [relatedNet(circuit, path.metal, "the metal that can be touched")],
  });
}
