import type { Fuse, NetIndex } from "../../circuit/model.ts";
import { finding, netName } from "../frame/index.ts";
import type { Fix, Rule } from "../rule.ts";
import { MAINS_CAUTION } from "./caution.ts";
import { example } from "./example.ts";
import { mainsSide, reach, way, wayText } from "./graph.ts";

export const fuseTip: Rule = {
  id: "mains/fuse-tip",
  severity: "error",
  sentence: "The incoming active is on the ring of the fuse-holder instead of its tip.",
  why:
    "While the cap with the fuse is drawn out, the fuse's free end touches the ring: with the active on the ring, the " +
    "hand that draws it touches the mains.",
  source: "fuse-holder makers' instructions, common practice",
  quiet:
    "Quiet where neither contact is joined to the active without the fuse (a fuse in the neutral, or behind another " +
    "fuse in a dead-when-drawn holder is still held: its tip is its incoming side).",
  caution: MAINS_CAUTION,
  bad: example({
    name: "Fuse the wrong way round",
    way: `fuse F1 T315mA 250V { tip: fused, ring: inA }
fused -- switch S1 mains 250V 6A -- live`,
  }),
  good: example({
    name: "Active on the tip",
    way: `fuse F1 T315mA 250V { tip: inA, ring: fused }
fused -- switch S1 mains 250V 6A -- live`,
  }),
  *check(context) {
    const side = mainsSide(context.circuit);
    if (!side) return;
    for (const fuse of side.fuses) {
      yield;
      const tip = fuse.terminals.get("tip");
      const ring = fuse.terminals.get("ring");
      if (tip === undefined || ring === undefined) continue;
      const reached = reach(side, side.active, { without: fuse });
      if (!reached.has(tip) && !reached.has(ring)) continue;
      context.checked(fuse.reference);
      if (!reached.has(ring) || reached.has(tip)) continue;
      yield finding(fuseTip, {
        message:
          `${wayText("active", way(reached, ring), `${fuse.reference}.ring`)}: the incoming active is on the ring (side) ` +
          `contact of ${fuse.reference}, which the fingers can touch while the fuse is drawn. Wire it to the tip ` +
          `(end) contact: exchange ${netName(context.circuit, tip)} and ${netName(context.circuit, ring)}.`,
        on: [fuse.reference],
        place: fuse.terminalPlaces.get("ring") ?? fuse.place,
        related: side.entries.map((entry) => {
          const lead = entry.leads.get("active");
          return lead && { on: entry.reference, message: "the active comes in here", place: lead.place };
        }),
        fix: exchanged(fuse, netName(context.circuit, tip), netName(context.circuit, ring), tip, ring),
      });
    }
  },
};

/** Tip and ring exchanged where they were written. */
function exchanged(
  fuse: Fuse,
  tipName: string,
  ringName: string,
  tip: NetIndex,
  ring: NetIndex,
): Fix | undefined {
  const [tipPlace, ringPlace] = [fuse.terminalPlaces.get("tip"), fuse.terminalPlaces.get("ring")];
  if (!tipPlace || !ringPlace || tip === ring || tipPlace.file !== ringPlace.file) return undefined;
  return {
    title: `Exchange tip and ring of ${fuse.reference}`,
    edits: [
      { place: tipPlace, text: ringName },
      { place: ringPlace, text: tipName },
    ],
  };
}
