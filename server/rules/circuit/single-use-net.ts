import { distance } from "fastest-levenshtein";
import type { Circuit, Net } from "../../circuit/model.ts";
import { either } from "../../circuit/problems.ts";
import { finding, netsOf, relatedPart } from "../frame/index.ts";
import type { Rule } from "../rule.ts";
import { passIn } from "./own-of-block.ts";
import { type Use, usesOf } from "./uses.ts";

const MOST_OFFERS = 40;

export const singleUseNet: Rule = {
  id: "circuit/single-use-net",
  severity: "warning",
  sentence: "A net is named only once: nothing else is joined to it, often because of a typing slip.",
  why:
    "One letter wrong in a net's name parts the wire that it stands for, and every voltage behind it is then computed " +
    "for a circuit that is not the one on the bench.",
  source: "common practice",
  quiet:
    "Quiet on gnd and chassis, on unused taps of a winding and on a winding that is not used at all, on an unused throw " +
    "of a switch, on a net that is passed to a used block, declared as metal, or joined by a terminal written elsewhere.",
  bad: `amp "Slip of the pen"
source B1 300V { plus: HT1, minus: gnd }
HT1 -- resistor R1 100k 1W 500V -- p1
P1 -- resistor R2 100k 1W 500V -- gnd
p1 -- resistor R3 220k 1W 500V -- gnd
`,
  good: `amp "No slip"
source B1 300V { plus: HT1, minus: gnd }
HT1 -- resistor R1 100k 1W 500V -- p1
p1 -- resistor R2 100k 1W 500V -- gnd
p1 -- resistor R3 220k 1W 500V -- gnd
`,
  leads: [
    { rule: "valve/grid-open", sharing: "part", manner: "mark" },
    { rule: "valve/heater-floating", sharing: "part", manner: "mark" },
    { rule: "valve/heater-voltage", sharing: "part", manner: "mark" },
    { rule: "valve/bias-cold", sharing: "part", manner: "mark" },
    { rule: "valve/plate-voltage", sharing: "part", manner: "mark" },
    { rule: "valve/screen-voltage", sharing: "part", manner: "mark" },
    { rule: "valve/plate-dissipation", sharing: "part", manner: "mark" },
    { rule: "valve/screen-dissipation", sharing: "part", manner: "mark" },
    { rule: "valve/pair-imbalance", sharing: "part", manner: "mark" },
    { rule: "circuit/no-dc-path", sharing: "part", manner: "mark" },
    // A slip anywhere ahead of it, the mains side included, leaves it dead.
    { rule: "supply/no-high-tension", sharing: "any", manner: "mark" },
    { rule: "output/winding-ends", sharing: "part", manner: "mark" },
    { rule: "valve/cathode-open", sharing: "part", manner: "mark" },
    { rule: "supply/half-wave", sharing: "part", manner: "mark" },
  ],
  *check(context) {
    const { circuit } = context;
    const uses = usesOf(circuit);
    const told = new Set<string>();
    for (const net of circuit.nets) {
      yield;
      if (net.index === circuit.ground || net.index === circuit.chassis) continue;
      if (net.mentions.length !== 1) continue;
      const on = uses.get(net.index) ?? [];
      if (on.length !== 1 || circuit.metals.some((metal) => metal.net === net.index)) continue;
      if (unusedOnPurpose(circuit, net, on[0], uses)) continue;
      const [place] = net.mentions;
      // A block used twice names its net at one place only.
      const at = `${place.file}:${place.range.start}`;
      if (told.has(at)) continue;
      told.add(at);
      // In a file full of loose ends each name is near to a hundred others, and offering them helps nobody.
      const pass = passIn(circuit, [net.index]);
      const near = pass || told.size > MOST_OFFERS ? [] : nearNets(circuit, net, on[0], uses);
      const offer = near.length > 0 ? ` Meant: ${either(near)}?` : "";
      yield finding(singleUseNet, {
        message:
          `The net ${net.name} is named only here, by ${on[0].part.reference}: nothing else is joined to it.${offer} ` +
          (pass?.todo ?? "Join it to the rest, or write the name that it should have."),
        on: [net.name, on[0].part.reference],
        place,
        related: [relatedPart(on[0].part, `its ${on[0].terminal} is the only terminal on ${net.name}`)],
        fix:
          near.length > 0 && !net.name.includes(".")
            ? { title: `Write ${near[0]}`, edits: [{ place, text: near[0] }] }
            : undefined,
      });
    }
  },
};

/** A tap, a winding, or a throw that a sound amplifier leaves unused. */
function unusedOnPurpose(
  circuit: Circuit,
  net: Net,
  use: Use,
  uses: ReadonlyMap<number, readonly Use[]>,
): boolean {
  if (use.part.kind === "switch") return use.terminal !== "common" && use.terminal !== "on";
  if (use.part.kind === "jack") return use.terminal.endsWith("-break");
  if (!use.winding) return false;
  const used = use.winding.filter(
    (net) => (uses.get(net)?.length ?? 0) > 1 || net === circuit.ground || net === circuit.chassis,
  );
  if (used.length === 0) return true;
  // The HT comes in at the middle of an output transformer's plates, and nobody leaves that alone; its screen taps may be.
  const plates = use.part.kind === "output-transformer" ? use.part.plates : undefined;
  if (plates?.nets === use.winding && plates) {
    const tapped = plates.nets.length === 5 || (plates.nets.length === 3 && plates.tap !== undefined);
    return tapped && plates.nets.indexOf(net.index) % 2 === 1;
  }
  return use.winding.length > 2 && used.length >= 2;
}

/** Names that this one may have been meant as, nearest first: a letter or two away, or the same but for case. */
function nearNets(circuit: Circuit, net: Net, use: Use, uses: ReadonlyMap<number, readonly Use[]>): string[] {
  // A name that the same part already has on another terminal would short the part.
  const own = netsOf(use.part);
  const most = net.name.length <= 3 ? 1 : 2;
  const scored = circuit.nets.flatMap((other) => {
    if (
      other.index === net.index ||
      (uses.get(other.index)?.length ?? 0) === 0 ||
      own.includes(other.index) ||
      other.name.includes(".")
    )
      return [];
    const folded = distance(other.name.toLowerCase(), net.name.toLowerCase());
    if (folded > most) return [];
    // Of two letters one changed is half the name: h1 is no slip of HT, nor k1 of p1.
    if (folded > 0 && net.name.length <= 2 && other.name.length === net.name.length) return [];
    // Numbered nets are near to each other by nature: HT1 and HT2 are no slip unless only their case differs.
    const sameButNumber = folded > 0 && stem(other.name) === stem(net.name);
    return [{ name: other.name, score: folded + (sameButNumber ? 1 : 0) }];
  });
  return scored
    .sort((a, b) => a.score - b.score || (a.name < b.name ? -1 : 1))
    .slice(0, 3)
    .map((entry) => entry.name);
}

const stem = (name: string): string => name.replace(/\d+/g, "").toLowerCase();
