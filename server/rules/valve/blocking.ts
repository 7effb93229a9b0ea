import type { Capacitor, NetIndex } from "../../circuit/model.ts";
import { blockingSeconds } from "../../facts/practice.ts";
import { ends, isValueless, limit, partsOn, relatedPart } from "../frame/index.ts";
import type { Rule, RuleContext } from "../rule.ts";
import { networkOf } from "../shared/network.ts";
import { netsWith } from "../shared/nodes.ts";
import { electrodePlace } from "../shared/sections.ts";
import { biasOf } from "./bias.ts";
import { outputSections } from "./output.ts";

/** From the shift that one overload makes down to a tenth of it. */
const TO_A_TENTH = Math.LN10;

export const blocking: Rule = {
  id: "valve/blocking",
  severity: "advice",
  sentence: "After an overload the output stage is cut off for longer than one notices.",
  why:
    "Driven past its grid, the stage charges the coupling capacitor by its grid current; the capacitor then holds the grid far " +
    "negative until it has drained through the leak, and the sound stutters behind every chord.",
  source: blockingSeconds.source,
  quiet:
    "Quiet up to a quarter of a second to a tenth of the shift, and on stages coupled straight or by a transformer.",
  bad: `amp "A coupling capacitor too large"
source B1 250V { plus: HT, minus: gnd }
HT -- resistor R5 220R 1W -- s1
valve V1 EL84 { plate: p1, screen: s1, grid: g1, cathode: k1 }
g0 -- resistor R4 2k2 0.5W -- g1
g0 -- resistor R1 820k 0.5W -- gnd
in -- capacitor C1 1u 400V film -- g0
in -- resistor R2 1M 0.5W -- gnd
k1 -- resistor R3 180R 3W wirewound -- gnd
output-transformer T1 8W {
  plates  5k 60mA 260R { p1 HT }
  speaker 8R 0.5R      { spk gnd }
}
spk -- speaker LS1 8R 15W -- gnd
`,
  good: `amp "Coupled as usual"
source B1 250V { plus: HT, minus: gnd }
HT -- resistor R5 220R 1W -- s1
valve V1 EL84 { plate: p1, screen: s1, grid: g1, cathode: k1 }
g0 -- resistor R4 2k2 0.5W -- g1
g0 -- resistor R1 470k 0.5W -- gnd
in -- capacitor C1 22n 400V film -- g0
in -- resistor R2 1M 0.5W -- gnd
k1 -- resistor R3 180R 3W wirewound -- gnd
output-transformer T1 8W {
  plates  5k 60mA 260R { p1 HT }
  speaker 8R 0.5R      { spk gnd }
}
spk -- speaker LS1 8R 15W -- gnd
`,
  *check(context) {
    const told = new Set<string>();
    for (const { section } of outputSections(context.circuit)) {
      yield;
      if (section.grid === undefined || !biasOf(context.circuit, context.analysis, section)) continue;
      const unknown = networkOf(context.circuit).partsFrom(section.grid).find(isValueless);
      if (unknown) {
        context.unchecked(
          section.valve.reference,
          `recovery from an overload (${unknown.reference} has no value)`,
          electrodePlace(section, "grid"),
        );
        continue;
      }
      for (const coupling of couplings(context, section.grid)) {
        if (told.has(coupling.part.reference)) continue;
        told.add(coupling.part.reference);
        const found = limit(context, blocking, {
          on: [coupling.part.reference, section.valve.reference],
          place: coupling.part.referencePlace,
          says: `After an overload ${section.key} comes back to a tenth of the shift in`,
          value: coupling.seconds,
          limit: blockingSeconds.value,
          limitIs: "practice asks for",
          unit: "s",
          note: "the coupling capacitor draining through the leak",
          todo: "A smaller coupling capacitor or leak, or a larger stopper to limit the charge.",
          related: [relatedPart(section.valve, `${section.key} draws the grid current that charges it`)],
        });
        if (found) yield found;
      }
    }
  },
};

interface Coupling {
  readonly part: Capacitor;
  readonly seconds: number;
}

/** Capacitors on the grid's side of its stopper, with the time in which each drains. */
function couplings(context: RuleContext, grid: NetIndex): Coupling[] {
  const { circuit } = context;
  const network = networkOf(circuit);
  const nets = new Set<NetIndex>(netsWith(circuit, grid));
  for (const net of [...nets]) {
    const resistors = partsOn(circuit, net).filter((part) => part.kind === "resistor");
    // Over the stopper: the one resistor between the grid and the junction of leak and capacitor.
    if (resistors.length !== 1) continue;
    for (const end of ends(resistors[0]) ?? [])
      if (end !== circuit.ground) for (const own of netsWith(circuit, end)) nets.add(own);
  }
  const found: Coupling[] = [];
  for (const net of nets) {
    for (const part of partsOn(circuit, net)) {
      if (part.kind !== "capacitor") continue;
      const far = (ends(part) ?? []).find((end) => !nets.has(end));
      if (far === undefined || far === circuit.ground) continue;
      const ohms = network.solve(new Map([[net, 1]]), [net], () => 0)?.[0];
      if (ohms === undefined) continue;
      found.push({ part, seconds: TO_A_TENTH * ohms * part.farads.value });
    }
  }
  return found;
}
