import { suppressorVolts, triodeStrap } from "../../facts/practice.ts";
import { finding, netName, quantity, when } from "../frame/index.ts";
import type { Finding, Rule } from "../rule.ts";
import { alike } from "../shared/alike.ts";
import { sameNode } from "../shared/nodes.ts";
import { amplifying, electrodePlace } from "../shared/sections.ts";
import { isStrapped } from "./electrode-volts.ts";

export const suppressor: Rule = {
  id: "valve/suppressor",
  severity: "error",
  sentence: "The suppressor stands on the plate's or the screen's volts, and not at its cathode.",
  why:
    "It is there to turn back what the plate throws off, and does so only at the cathode's volts. On a supply it draws current that " +
    "nobody limits, a grid of fine wire burns, and what the sheet says of the valve holds no longer.",
  source: suppressorVolts.source,
  quiet:
    `Quiet up to ${suppressorVolts.most} V above the cathode, below it, and on a valve strapped as a triode, whose suppressor may go ` +
    "to the plate with the screen. A suppressor that isn't written is not looked at.",
  caution:
    "The plate's and the screen's pins carry the full HT: unplug, let the capacitors discharge and measure them before touching the socket.",
  bad: `amp "Suppressor on the screen"
source B1 300V { plus: HT, minus: gnd }
HT -- resistor R4 1k 2W 350V -- s1
valve V1 EL34 { plate: pA, screen: s1, suppressor: s1, grid: g1, cathode: k1 }
g1 -- resistor R1 470k 0.5W -- gnd
k1 -- resistor R3 270R 7W wirewound -- gnd
output-transformer T1 12W {
  plates  3k5 100mA 120R { pA HT }
  speaker 8R 0.5R { spk gnd }
}
spk -- speaker LS1 8R 20W -- gnd
`,
  good: `amp "Suppressor at its cathode"
source B1 300V { plus: HT, minus: gnd }
HT -- resistor R4 1k 2W 350V -- s1
valve V1 EL34 { plate: pA, screen: s1, suppressor: k1, grid: g1, cathode: k1 }
g1 -- resistor R1 470k 0.5W -- gnd
k1 -- resistor R3 270R 7W wirewound -- gnd
output-transformer T1 12W {
  plates  3k5 100mA 120R { pA HT }
  speaker 8R 0.5R { spk gnd }
}
spk -- speaker LS1 8R 20W -- gnd
`,
  *check(context) {
    const { circuit, analysis } = context;
    const idle = analysis.solution("idle", "nominal");
    if (!idle?.solved) return;
    const all: Finding[] = [];
    for (const section of amplifying(circuit)) {
      yield;
      const net = section.section.electrodes.get("suppressor");
      const { cathode, plate, screen } = section;
      if (net === undefined || cathode === undefined || isStrapped(context, section)) continue;
      const volts = idle.volts[net] - idle.volts[cathode];
      if (Number.isNaN(volts)) {
        context.unchecked(
          section.valve.reference,
          `volts of ${section.key}'s suppressor`,
          electrodePlace(section, "suppressor"),
        );
        continue;
      }
      context.checked(section.valve.reference);
      if (volts <= suppressorVolts.most) continue;
      const on = (other: number | undefined) => other !== undefined && sameNode(circuit, net, other);
      const tied = on(plate) ? "on its plate" : on(screen) ? "on its screen" : `on ${netName(circuit, net)}`;
      all.push(
        finding(suppressor, {
          message:
            `${section.key}'s suppressor is tied ${tied}, ${quantity(volts, "V")} above its cathode ${when("idle", "nominal")}: it belongs at the ` +
            `cathode (${netName(circuit, cathode)}). Move the lead at the socket. To work it as a triode, the screen goes to the plate, by some ` +
            `${quantity(triodeStrap.usualOhms, "Ω")}.`,
          on: [section.valve.reference, `${section.key}.suppressor`],
          place: electrodePlace(section, "suppressor"),
          state: "idle",
          mains: "nominal",
          value: volts,
          limit: suppressorVolts.most,
          unit: "V",
        }),
      );
    }
    yield* alike(all);
  },
};
