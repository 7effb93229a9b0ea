import { finding, netName, relatedPart } from "../frame/index.ts";
import type { Finding, Rule } from "../rule.ts";
import { alike } from "../shared/alike.ts";
import { amplifying, electrodePlace } from "../shared/sections.ts";
import { isOn, plateWindings, reaches } from "./on-winding.ts";

export const plateGridExchanged: Rule = {
  id: "valve/plate-grid-exchanged",
  severity: "error",
  sentence:
    "Plate and grid are exchanged: the grid is on the output transformer, and the plate where the signal comes in.",
  why:
    "The whole HT stands on the grid, which draws current until its wires melt, and what it hangs on and the driver before it " +
    "carry the HT as well.",
  source: "common practice",
  quiet:
    "Quiet where another valve's plate is on that end of the winding: a grid may be driven straight from it.",
  caution:
    "The output transformer carries the full HT: unplug, let the capacitors discharge and measure them before touching the socket.",
  bad: `amp "Two leads exchanged"
source B1 250V { plus: HT, minus: gnd }
HT -- resistor R4 220R 2W -- s1
valve V1 EL84 { plate: g1, screen: s1, grid: pA, cathode: k1 }
g1 -- resistor R1 470k 0.5W -- gnd
k1 -- resistor R3 220R 5W wirewound -- gnd
output-transformer T1 8W {
  plates  5k 60mA 250R { pA HT }
  speaker 8R 0.5R { spk gnd }
}
spk -- speaker LS1 8R 15W -- gnd
`,
  good: `amp "Each where it belongs"
source B1 250V { plus: HT, minus: gnd }
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
    "rating/capacitor-voltage",
    "rating/resistor-power",
    "rating/resistor-voltage",
    "supply/no-high-tension",
    "supply/transformer-load",
    "supply/winding-current",
    "valve/bias-missing",
    "valve/heater-cathode",
    "valve/pair-imbalance",
    "valve/plate-dissipation",
    "valve/screen-dissipation",
    "valve/cathode-current",
    "valve/grid-stopper",
  ].map((rule) => ({ rule, sharing: "any", manner: "mark" })),
  *check(context) {
    const { circuit } = context;
    const all: Finding[] = [];
    const windings = plateWindings(circuit);
    if (windings.length === 0) return;
    const sections = amplifying(circuit);
    for (const section of sections) {
      yield;
      const { plate, grid } = section;
      if (plate === undefined || grid === undefined) continue;
      context.checked(section.valve.reference);
      for (const { transformer, ends } of windings) {
        const end = ends.find((net) => isOn(circuit, net, grid));
        if (end === undefined) continue;
        if (sections.some((other) => other.plate !== undefined && reaches(circuit, end, other.plate)))
          continue;
        all.push(
          finding(plateGridExchanged, {
            message:
              `${section.key}'s plate and grid are exchanged: its grid (${netName(circuit, grid)}) is on the end of ` +
              `${transformer.reference}'s winding, where no plate is, and its plate on ${netName(circuit, plate)}. Exchange the two leads at ` +
              `the socket: plate to ${netName(circuit, end)}, grid to ${netName(circuit, plate)}.`,
            on: [
              section.valve.reference,
              `${section.key}.grid`,
              `${section.key}.plate`,
              transformer.reference,
            ],
            place: electrodePlace(section, "grid"),
            related: [relatedPart(transformer, "the winding that the plate belongs on")],
          }),
        );
      }
    }
    yield* alike(all);
  },
};
