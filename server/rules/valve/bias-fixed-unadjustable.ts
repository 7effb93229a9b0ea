import type { Circuit, NetIndex, Part, PartKind } from "../../circuit/model.ts";
import { finding, listed, partsOf, partsOn, relatedPart } from "../frame/index.ts";
import type { Rule } from "../rule.ts";
import { networkOf } from "../shared/network.ts";
import { sameNode } from "../shared/nodes.ts";
import { electrodePlace } from "../shared/sections.ts";
import { biasGrid, biasOf } from "./bias.ts";
import { outputSections } from "./output.ts";

export const biasFixedUnadjustable: Rule = {
  id: "valve/bias-fixed-unadjustable",
  severity: "advice",
  sentence: "Fixed bias without anything to set it with.",
  why:
    "Valves of one type differ by 15 % and more in current at the same bias: without a trimmer the next pair runs hot or cold, " +
    "and nobody can do anything about it but swap resistors.",
  source: "common practice",
  quiet:
    "Quiet with cathode bias, with back bias (the drop of the whole HT current, which rights itself as cathode bias does), with a pot anywhere between the grids and the bias supply, or at the grid of a follower that drives them, and on bench files fed from a source.",
  bad: `amp "No trimmer"
transformer T9 60VA {
  primary 230V 20R     { a b }
  bias    45V 50mA 10R { x gnd }
}
source B1 350V { plus: HT, minus: gnd }
nB -- diode D1 1N4007 -- x
gnd -- capacitor C1 47u 100V electrolytic -- nB
nB -- resistor R9 22k 0.5W -- nC -- resistor R8 47k 0.5W -- gnd
HT -- resistor R4 1k 3W wirewound -- s1
HT -- resistor R5 1k 3W wirewound -- s2
valve V1 6L6GC { plate: pA, screen: s1, grid: g1, cathode: gnd }
valve V2 6L6GC { plate: pB, screen: s2, grid: g2, cathode: gnd }
g1 -- resistor R1 47k 0.5W -- nC
g2 -- resistor R2 47k 0.5W -- nC
output-transformer T1 40W {
  plates  6k6 200R { pA HT pB }
  speaker 8R 0.5R  { spk gnd }
}
spk -- speaker LS1 8R 60W -- gnd
`,
  good: `amp "With a trimmer"
transformer T9 60VA {
  primary 230V 20R     { a b }
  bias    45V 50mA 10R { x gnd }
}
source B1 350V { plus: HT, minus: gnd }
nB -- diode D1 1N4007 -- x
gnd -- capacitor C1 47u 100V electrolytic -- nB
pot R9 10k lin 0.5W at 30% { top: nB, wiper: nC, bottom: nD }
nD -- resistor R8 33k 0.5W -- gnd
nB -- resistor R7 220k 0.5W -- nC
HT -- resistor R4 1k 3W wirewound -- s1
HT -- resistor R5 1k 3W wirewound -- s2
valve V1 6L6GC { plate: pA, screen: s1, grid: g1, cathode: gnd }
valve V2 6L6GC { plate: pB, screen: s2, grid: g2, cathode: gnd }
g1 -- resistor R1 47k 0.5W -- nC
g2 -- resistor R2 47k 0.5W -- nC
output-transformer T1 40W {
  plates  6k6 200R { pA HT pB }
  speaker 8R 0.5R  { spk gnd }
}
spk -- speaker LS1 8R 60W -- gnd
`,
  *check(context) {
    const { circuit, analysis } = context;
    const network = networkOf(circuit);
    const told: { keys: string[]; stage: string; first: (typeof outputs)[number] }[] = [];
    const outputs = outputSections(circuit);
    for (const output of outputs) {
      yield;
      const { section, transformer } = output;
      const bias = biasOf(circuit, analysis, section);
      if (bias?.kind !== "fixed" || section.grid === undefined) continue;
      context.checked(section.valve.reference);
      const way = network.partsFrom(biasGrid(circuit, section) ?? section.grid);
      // The divider may stand behind the node that holds its volts: a follower, or the pot ahead of a filter.
      const nets = way
        .flatMap((part) => [...part.terminals.values()])
        .filter((net) => net !== circuit.ground);
      const on = (kind: PartKind) =>
        nets.some((net) =>
          partsOn(circuit, net).some(
            (part) => part.kind === kind && [...part.terminals.values()].includes(net),
          ),
        );
      const pots = way.some((part) => part.kind === "pot") || on("pot");
      const fromSource = on("source");
      if (pots || fromSource || way.some((part) => onReturn(circuit, part))) continue;
      const group = told.find((entry) => entry.stage === transformer.reference);
      if (group) group.keys.push(section.key);
      else told.push({ keys: [section.key], stage: transformer.reference, first: output });
    }
    for (const { keys, first } of told) {
      const way = biasOf(circuit, analysis, first.section)?.setters ?? [];
      yield finding(biasFixedUnadjustable, {
        message:
          `${listed(keys)} ${keys.length > 1 ? "have" : "has"} fixed bias and no pot to set it: the next set of valves will sit ` +
          "somewhere else. A trimmer in the divider, with a resistor that takes the grids fully negative if its wiper opens.",
        on: keys,
        place: electrodePlace(first.section, "grid"),
        related: way.slice(0, 3).map((part) => relatedPart(part, `${part.reference} is part of the bias`)),
      });
    }
  },
};

/**
 * True for a part on a tap of the HT winding, or on the minus of its bridge: the whole current of the supply comes back
 * through it.
 */
function onReturn(circuit: Circuit, part: Part): boolean {
  const own = [...part.terminals.values()].filter((net) => !isCommon(circuit, net));
  const same = (nets: readonly (NetIndex | undefined)[]) =>
    nets.some((net) => net !== undefined && own.some((at) => sameNode(circuit, at, net)));
  const windings = partsOf(circuit, "transformer")
    .flatMap(({ secondaries }) => secondaries)
    .filter((winding) => winding.volts.value > 100);
  if (windings.some((winding) => winding.nets.length > 2 && same(winding.nets))) return true;
  const fed = (net: NetIndex | undefined) =>
    net !== undefined && windings.some(({ nets }) => nets.some((to) => sameNode(circuit, to, net)));
  if (
    partsOf(circuit, "bridge").some(
      ({ terminals }) =>
        same([terminals.get("minus")]) && (fed(terminals.get("ac1")) || fed(terminals.get("ac2"))),
    )
  )
    return true;
  // A bridge of single diodes: two of them from one net to the two ends of the winding.
  const returns = partsOf(circuit, "diode").filter(
    ({ terminals }) => same([terminals.get("anode")]) && fed(terminals.get("cathode")),
  );
  return returns.length > 1;
}

const isCommon = (circuit: Circuit, net: NetIndex): boolean =>
  circuit.ground !== undefined && sameNode(circuit, net, circuit.ground);
