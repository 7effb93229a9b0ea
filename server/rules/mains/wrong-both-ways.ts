import { finding, listed } from "../frame/index.ts";
import type { Rule } from "../rule.ts";
import { MAINS_CAUTION } from "./caution.ts";
import { example } from "./example.ts";
import { mainsSide } from "./graph.ts";
import { fusedInNeutralAlone, liveWhenOff, type Orientation } from "./reaches.ts";

export const wrongBothWays: Rule = {
  id: "mains/wrong-both-ways",
  severity: "error",
  sentence:
    "Fuse and switch are in different conductors: exchanging active and neutral does not put it right.",
  why:
    "As wired one of the two is in the neutral, and with the conductors exchanged the other is. Only rewiring one of " +
    "them helps, so turning the plug or swapping the cord's cores must not be taken for a cure.",
  source: "BS 7671 132.14.1: single-pole fuses and switches go in the line only",
  quiet:
    "Quiet where exchanging the conductors at the cord would put it right (fuse and switch both in the neutral), on " +
    "double-pole switches, and on a fuse in each conductor: their own rules tell what is left.",
  caution: MAINS_CAUTION,
  bad: example({
    name: "Fuse here, switch there",
    way: `inA -- fuse F1 T315mA 250V -- live
back -- switch S1 mains 250V 6A -- inN`,
    transformer: `transformer T1 40VA {
  primary 230V 30R { live back }
  heater 6.3V 5A   { h1 gnd }
}`,
  }),
  good: example({ name: "Fuse and switch together" }),
  leads: [
    { rule: "mains/fuse-first", sharing: "part", manner: "mark" },
    { rule: "mains/fuse-in-neutral", sharing: "part", manner: "mark" },
    { rule: "mains/neutral-broken", sharing: "part", manner: "mark" },
    { rule: "mains/switch-active", sharing: "part", manner: "mark" },
    // That turning the plug over brings the other fault is already said.
    { rule: "mains/either-way-round", sharing: "part", manner: "attach" },
  ],
  *check(context) {
    const side = mainsSide(context.circuit);
    if (!side || side.fuses.length === 0 || side.mainsSwitches.length === 0) return;
    context.checked(side.entries[0].reference);
    const wrong = (orientation: Orientation) => {
      const fuses = fusedInNeutralAlone(side, orientation);
      const live = liveWhenOff(side, orientation);
      return fuses.length + live.length > 0 ? { fuses, live } : undefined;
    };
    const [wired, exchanged] = [wrong("wired"), wrong("exchanged")];
    if (!wired || !exchanged) return;
    // One of the two is wrong each way round, and not the same one: a bridged switch is another fault, wrong by itself.
    const fuseOnly = (found: typeof wired) => found.fuses.length > 0 && found.live.length === 0;
    const switchOnly = (found: typeof wired) => found.live.length > 0 && found.fuses.length === 0;
    const parted = (fuseOnly(wired) && switchOnly(exchanged)) || (switchOnly(wired) && fuseOnly(exchanged));
    if (!parted) return;
    const fuses = (wired.fuses.length > 0 ? wired : exchanged).fuses.flatMap((entry) => entry.fuses);
    const fuseNames = [...new Set(fuses.map((fuse) => fuse.reference))];
    const switchNames = side.mainsSwitches.map((part) => part.reference);
    const now = wired.fuses.length > 0 ? `fuse ${listed(fuseNames)}` : `switch ${listed(switchNames)}`;
    const then = wired.fuses.length > 0 ? `switch ${listed(switchNames)}` : `fuse ${listed(fuseNames)}`;
    yield finding(wrongBothWays, {
      message:
        `Wrong both ways round: ${now} is in the neutral, and with active and neutral exchanged ${then} is. Put both in ` +
        "the active, the fuse first, or fit a double-pole switch behind the fuse.",
      on: [...fuseNames, ...switchNames, ...side.primaries.map((primary) => primary.transformer.reference)],
      place: (wired.fuses.length > 0 ? fuses[0] : side.mainsSwitches[0]).place,
      related: [
        ...fuses.map((fuse) => ({
          on: fuse.reference,
          message: "the fuse, in one conductor",
          place: fuse.place,
        })),
        ...side.mainsSwitches.map((part) => ({
          on: part.reference,
          message: "the switch, in the other",
          place: part.place,
        })),
      ],
    });
  },
};
