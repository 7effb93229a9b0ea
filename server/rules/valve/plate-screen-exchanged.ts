import { finding, netName, relatedPart } from "../frame/index.ts";
import type { Finding, Rule } from "../rule.ts";
import { alike } from "../shared/alike.ts";
import { sameNode } from "../shared/nodes.ts";
import { amplifying, electrodePlace } from "../shared/sections.ts";
import { isOn, plateWindings, reaches } from "./on-winding.ts";

export const plateScreenExchanged: Rule = {
  id: "valve/plate-screen-exchanged",
  severity: "error",
  sentence:
    "Plate and screen are exchanged: the screen works into the output transformer, and the plate stands on a supply.",
  why:
    "The screen is fine wire made for a few watts: as a plate it takes the whole swing and melts, and the plate does no work. On a " +
    "socket the two are a pin apart.",
  source: "common practice",
  quiet:
    "Quiet on a valve strapped as a triode, on screens at the taps of an ultralinear winding, and on a screen that shares the end " +
    "of the winding with its plate.",
  caution:
    "The output transformer and the screens carry the full HT: unplug, let the capacitors discharge and measure them before touching the socket.",
  bad: `amp "Two pins exchanged"
source B1 280V { plus: HT, minus: gnd }
HT -- resistor R4 220R 2W -- s1
valve V1 EL84 { plate: s1, screen: pA, grid: g1, cathode: k1 }
g1 -- resistor R1 470k 0.5W -- gnd
k1 -- resistor R3 220R 5W wirewound -- gnd
output-transformer T1 8W {
  plates  5k 60mA 250R { pA HT }
  speaker 8R 0.5R { spk gnd }
}
spk -- speaker LS1 8R 15W -- gnd
`,
  good: `amp "Each on its own pin"
source B1 260V { plus: HT, minus: gnd }
HT -- resistor R4 220R 2W -- s1
valve V1 EL84 { plate: pA, screen: s1, grid: g1, cathode: k1 }
g1 -- resistor R1 470k 0.5W -- gnd
k1 -- resistor R3 220R 5W wirewound -- gnd
output-transformer T1 8W {
  plates  5k 60mA 250R { pA HT }
  speaker 8R 0.5R { spk gnd }
}
spk -- speaker LS1 8R 15W -- gnd
`,
  leads: [
    "output/load-mismatch",
    "output/no-load-path",
    "output/transformer-current",
    "rating/resistor-power",
    "valve/pair-imbalance",
    "valve/plate-dissipation",
    "valve/screen-dissipation",
    "valve/screen-stopper",
    "valve/screen-voltage",
  ].map((rule) => ({ rule, sharing: rule.startsWith("valve/") ? "part" : "any", manner: "mark" })),
  *check(context) {
    const { circuit } = context;
    const all: Finding[] = [];
    const windings = plateWindings(circuit);
    if (windings.length === 0) return;
    for (const section of amplifying(circuit)) {
      yield;
      const { plate, screen } = section;
      if (plate === undefined || screen === undefined || sameNode(circuit, plate, screen)) continue;
      context.checked(section.valve.reference);
      for (const { transformer, nets, ends, supply } of windings) {
        const end = ends.find((net) => isOn(circuit, net, screen) && !reaches(circuit, net, plate));
        // A plate on its own winding's tap works into it, if badly.
        if (end === undefined) continue;
        const onTap = nets.some((net) => net !== supply && sameNode(circuit, net, plate));
        all.push(
          finding(plateScreenExchanged, {
            message:
              `${section.key}'s plate and screen are exchanged: its screen (${netName(circuit, screen)}) is on the end of ` +
              `${transformer.reference}'s winding, and its plate (${netName(circuit, plate)}) on ${onTap ? "the screen's tap" : "a supply"}. Exchange the two leads at the socket: ` +
              `plate to ${netName(circuit, end)}, screen to ${netName(circuit, plate)}.`,
            on: [
              section.valve.reference,
              `${section.key}.screen`,
              `${section.key}.plate`,
              transformer.reference,
            ],
            place: electrodePlace(section, "screen"),
            related: [relatedPart(transformer, "the winding that the plate belongs on")],
          }),
        );
      }
    }
    yield* alike(all);
  },
};
