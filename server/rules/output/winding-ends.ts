import type { Circuit, NetIndex, OutputTransformer } from "../../circuit/model.ts";
import { finding, listed, netName, partsOf, partsOn, relatedPart } from "../frame/index.ts";
import type { Finding, Rule } from "../rule.ts";
import { netsWith } from "../shared/nodes.ts";
import { amplifying, electrodePlace, type Section } from "../shared/sections.ts";
import { isBackwards, isFed } from "../valve/fed-ends.ts";
import { behind, drivesGrids, isSingleEnded } from "../valve/output.ts";

export const windingEnds: Rule = {
  id: "output/winding-ends",
  severity: "error",
  sentence:
    "The leads of the push-pull winding are exchanged: a plate on the middle, a supply on an end, a screen on the other half's tap.",
  why:
    "With the supply on an end one half of the core is magnetised all the way, and one valve works into the wrong part of the " +
    "winding. A screen on the other half's tap feeds the signal back the wrong way: the stage oscillates.",
  source: "common practice",
  quiet:
    "Quiet on single-ended windings with the plate written first, on driver transformers, on taps that nothing is on, and on plates of other stages that stand on " +
    "the supply in the middle.",
  caution:
    "Every lead of this winding carries the full HT: unplug, let the capacitors discharge and measure them before moving one.",
  bad: `amp "Middle and end exchanged"
source B1 300V { plus: HT, minus: gnd }
HT -- resistor R4 220R 2W -- sA
HT -- resistor R5 220R 2W -- sB
HT -- resistor R9 10R 5W wirewound -- HTp
valve V1 EL84 { plate: pA, screen: sA, grid: g1, cathode: k }
valve V2 EL84 { plate: pB, screen: sB, grid: g2, cathode: k }
g1 -- resistor R1 470k 0.5W -- gnd
g2 -- resistor R2 470k 0.5W -- gnd
k -- resistor R3 270R 5W wirewound -- gnd
output-transformer T1 20W {
  plates  8k 280R { pA pB HTp }
  speaker 8R 0.5R { spk gnd }
}
spk -- speaker LS1 8R 30W -- gnd
`,
  good: `amp "Supply in the middle"
source B1 300V { plus: HT, minus: gnd }
HT -- resistor R4 220R 2W -- sA
HT -- resistor R5 220R 2W -- sB
HT -- resistor R9 10R 5W wirewound -- HTp
valve V1 EL84 { plate: pA, screen: sA, grid: g1, cathode: k }
valve V2 EL84 { plate: pB, screen: sB, grid: g2, cathode: k }
g1 -- resistor R1 470k 0.5W -- gnd
g2 -- resistor R2 470k 0.5W -- gnd
k -- resistor R3 270R 5W wirewound -- gnd
output-transformer T1 20W {
  plates  8k 280R { pA HTp pB }
  speaker 8R 0.5R { spk gnd }
}
spk -- speaker LS1 8R 30W -- gnd
`,
  leads: [
    { rule: "valve/pair-imbalance", sharing: "any", manner: "mark" },
    { rule: "output/load-mismatch", sharing: "any", manner: "mark" },
    { rule: "valve/bias-cold", sharing: "any", manner: "mark" },
  ],
  *check(context) {
    const { circuit } = context;
    for (const transformer of partsOf(circuit, "output-transformer")) {
      yield;
      const nets = transformer.plates?.nets ?? [];
      const backwards = writtenBackwards(circuit, transformer);
      if (backwards) yield backwards;
      // A winding of an even number of leads has no middle; it is told where it is written.
      if (nets.length < 3 || nets.length % 2 === 0) continue;
      if (isSingleEnded(transformer) || drivesGrids(circuit, transformer)) continue;
      context.checked(transformer.reference);
      const found = exchanged(circuit, transformer, nets) ?? oneSided(circuit, transformer, nets);
      if (found) yield found;
      else yield* crossed(circuit, transformer, nets);
    }
  },
};

const middleOf = (nets: readonly NetIndex[]): NetIndex => nets[(nets.length - 1) / 2];

/** Through stoppers. */
function platesBehind(circuit: Circuit, net: NetIndex): readonly Section[] {
  const reached = behind(circuit, net);
  return amplifying(circuit).filter((section) => section.plate !== undefined && reached.has(section.plate));
}

/** The leads of a single-ended winding, told where they are written the wrong way round. */
function writtenBackwards(circuit: Circuit, transformer: OutputTransformer): Finding | undefined {
  const { plates } = transformer;
  if (!plates || !isBackwards(circuit, transformer)) return undefined;
  const [supply, plate] = plates.nets.map((net) => netName(circuit, net));
  const own = netsWith(circuit, plates.nets[1]);
  const valves = amplifying(circuit).filter(
    (section) => section.plate !== undefined && own.includes(section.plate),
  );
  return finding(windingEnds, {
    severity: "warning",
    message:
      `${transformer.reference}'s winding is written from its supply (${supply}) to the plate (${plate}) of ${listed(valves.map(({ key }) => key))}: ` +
      `the plate comes first, { ${plate} ${supply} }. Written so, the output stage is not seen as one, and is not looked at.`,
    on: [transformer.reference, ...valves.map(({ valve }) => valve.reference)],
    place: plates.place,
    related: valves.map(({ valve, key }) => relatedPart(valve, `${key}'s plate is on the second net`)),
  });
}

/** A plate on the middle, where nothing feeds it, and the supply on an end. */
function exchanged(
  circuit: Circuit,
  transformer: OutputTransformer,
  nets: readonly NetIndex[],
): Finding | undefined {
  const middle = middleOf(nets);
  if (isFed(circuit, middle)) return undefined;
  const own = netsWith(circuit, middle);
  const plates = amplifying(circuit).filter(({ plate }) => plate !== undefined && own.includes(plate));
  const end = [nets[0], nets[nets.length - 1]].find(
    (net) =>
      isFed(circuit, net) && !amplifying(circuit).some((section) => isPowerPlate(circuit, section, net)),
  );
  if (plates.length === 0 || end === undefined) return undefined;
  const names = listed(plates.map((section) => section.key));
  return finding(windingEnds, {
    message:
      `${names}'s plate is on the middle of ${transformer.reference}'s winding (${netName(circuit, middle)}), and the supply comes to an end of it ` +
      `(${netName(circuit, end)}): the two leads are exchanged. The supply goes to the middle, a plate to each end.`,
    on: [transformer.reference, ...plates.map((section) => section.valve.reference)],
    place: transformer.plates?.place ?? transformer.referencePlace,
    related: plates.map((section) => relatedPart(section.valve, `${section.key}'s plate is on the middle`)),
  });
}

/** A plate that stands on a net with its screen elsewhere: it works into the winding. A follower's plate only hangs on a supply. */
function isPowerPlate(circuit: Circuit, { plate, screen }: Section, net: NetIndex): boolean {
  return plate !== undefined && screen !== undefined && netsWith(circuit, net).includes(plate);
}

/** Valves on one end, and nothing on the other. */
function oneSided(
  circuit: Circuit,
  transformer: OutputTransformer,
  nets: readonly NetIndex[],
): Finding | undefined {
  const ends = [nets[0], nets[nets.length - 1]];
  const [first, second] = ends.map((net) => platesBehind(circuit, net));
  if (first.length > 0 === second.length > 0) return undefined;
  const [bare, plates] = first.length > 0 ? [ends[1], first] : [ends[0], second];
  const hangs = netsWith(circuit, bare).flatMap((net) =>
    partsOn(circuit, net).filter((part) => part !== transformer),
  );
  if (hangs.length > 0) return undefined;
  const names = listed(plates.map((section) => section.key));
  return finding(windingEnds, {
    severity: "warning",
    message:
      `${names} ${plates.length > 1 ? "both work" : "works"} into one end of ${transformer.reference}'s winding, and nothing is on the other ` +
      `(${netName(circuit, bare)}): the standing current magnetises the core one way, and half of the winding does nothing. ` +
      "A plate belongs on each end.",
    on: [transformer.reference, ...plates.map((section) => section.valve.reference)],
    place: transformer.plates?.place ?? transformer.referencePlace,
    related: plates.map((section) => relatedPart(section.valve, `${section.key}'s plate is on that end`)),
  });
}

/** A screen on the tap of the half that its plate does not work into. */
function* crossed(
  circuit: Circuit,
  transformer: OutputTransformer,
  nets: readonly NetIndex[],
): Generator<Finding> {
  if (nets.length !== 5) return;
  const halves = [
    [nets[0], nets[3]],
    [nets[4], nets[1]],
  ] as const;
  const wrong: Section[] = [];
  for (const [end, other] of halves) {
    const tap = behind(circuit, other);
    for (const section of platesBehind(circuit, end))
      if (section.screen !== undefined && tap.has(section.screen)) wrong.push(section);
  }
  if (wrong.length === 0) return;
  const names = wrong.map((section) => section.key);
  yield finding(windingEnds, {
    message:
      `${listed(names)} ${names.length > 1 ? "have their screens" : "has its screen"} on the tap of the half of ${transformer.reference}'s winding that the ` +
      `other side's plate works into: the signal is fed back the wrong way, and the stage oscillates. Exchange the taps' leads: ` +
      "each screen on the tap of its own plate's half.",
    on: [transformer.reference, ...wrong.map((section) => section.valve.reference)],
    place: electrodePlace(wrong[0], "screen"),
    related: [
      ...wrong.slice(1).map((section) => relatedPart(section.valve, `${section.key}'s screen too`)),
      relatedPart(transformer, "the winding"),
    ],
  });
}
