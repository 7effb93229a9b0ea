import type { Capacitor, NetIndex } from "../../circuit/model.ts";
import { blockingSeconds, couplingSeconds, holding } from "../../facts/practice.ts";
import { ends, isValueless, limit, netsOf, partsOn, quantity, relatedPart } from "../frame/index.ts";
import type { Rule, RuleContext } from "../rule.ts";
import { networkOf } from "../shared/network.ts";
import { netsWith } from "../shared/nodes.ts";
import { amplifying, electrodePlace } from "../shared/sections.ts";
import { biasOf } from "./bias.ts";
import { outputSections } from "./output.ts";

/** From the shift that one overload makes down to a tenth of it. */
const TO_A_TENTH = Math.LN10;

export const blocking: Rule = {
  id: "valve/blocking",
  severity: "advice",
  sentence: "After an overload the stage is cut off for longer than one notices.",
  why:
    "Driven past its grid, the stage charges the coupling capacitor by its grid current; the capacitor then holds the grid far " +
    "negative until it has drained through the leak, and the sound stutters behind every chord.",
  source: blockingSeconds.source,
  quiet:
    "Quiet up to a quarter of a second to a tenth of the shift, and on stages coupled straight or by a transformer. Ahead of the output " +
    "stage, where overload is rare, quiet up to some seconds: past them the capacitor is of the wrong decade, which is a warning.",
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
          severity: coupling.seconds > couplingSeconds.value ? "warning" : undefined,
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
    for (const section of amplifying(context.circuit)) {
      yield;
      if (section.grid === undefined) continue;
      for (const { part, seconds, ohms } of farCouplings(context, section.grid)) {
        if (told.has(part.reference)) continue;
        told.add(part.reference);
        const found = limit(context, blocking, {
          on: [part.reference, section.valve.reference],
          place: part.factPlaces.get("farads") ?? part.referencePlace,
          value: seconds,
          limit: couplingSeconds.value,
          unit: "s",
          severity: "warning",
          source: couplingSeconds.source,
          words: () => ({
            says: `${part.reference} of ${quantity(part.farads.value, "F")} into ${quantity(ohms, "Ω")}: switched on or overloaded, ${section.key} comes to its bias within`,
            limitIs: "even slow stages are there in",
            todo: "Look at its decade: couplings between stages are of nanofarads.",
            related: [relatedPart(section.valve, `${section.key} has no bias until it is charged`)],
          }),
        });
        if (found) yield found;
      }
    }
  },
};

/** Direct volts across a coupling capacitor: what has less is a part of a filter or of a feedback. */
const COUPLED_VOLTS = 20;

/** Capacitors that bring a grid its signal, over whatever stands between: stoppers, mixers, a volume control. */
function farCouplings(
  context: RuleContext,
  grid: NetIndex,
): readonly (Coupling & { readonly ohms: number })[] {
  const { circuit, analysis } = context;
  const idle = analysis.solution("idle", "nominal");
  if (!idle?.solved) return [];
  const network = networkOf(circuit);
  const stops = (net: NetIndex) =>
    network.held.has(network.nodeOf(net)) ||
    partsOn(circuit, net).some(
      (part) =>
        part.kind === "capacitor" &&
        part.farads.value > holding.farads &&
        (ends(part) ?? []).some((end) => network.nodeOf(end) === -1),
    );
  const nets = new Set<NetIndex>(netsWith(circuit, grid));
  for (const net of nets) {
    if (nets.size > MOST_NETS) return [];
    if (stops(net)) continue;
    for (const part of partsOn(circuit, net))
      if (part.kind === "resistor" || part.kind === "pot")
        for (const next of netsOf(part)) for (const own of netsWith(circuit, next)) nets.add(own);
  }
  const found: (Coupling & { readonly ohms: number })[] = [];
  for (const net of nets) {
    if (stops(net)) continue;
    for (const part of partsOn(circuit, net)) {
      // Where the leak is what is too large, its own rule tells it.
      if (part.kind !== "capacitor" || isValueless(part) || !(part.farads.value > holding.farads)) continue;
      const far = (ends(part) ?? []).find((end) => !nets.has(end));
      if (far === undefined || network.nodeOf(far) === -1) continue;
      if (!(Math.abs(idle.volts[far] - idle.volts[net]) > COUPLED_VOLTS)) continue;
      const ohms = network.solve(new Map([[net, 1]]), [net], () => 0)?.[0];
      if (ohms !== undefined) found.push({ part, ohms, seconds: TO_A_TENTH * ohms * part.farads.value });
    }
  }
  return found;
}

/** More nets than this are no way to one grid. */
const MOST_NETS = 40;

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
