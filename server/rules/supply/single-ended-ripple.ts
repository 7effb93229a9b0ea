/** Ripple on what governs a single-ended output valve's current: nothing in its transformer cancels it. */
import type { Circuit, NetIndex } from "../../circuit/model.ts";
import { ripple as practice } from "../../facts/practice.ts";
import type { Solution } from "../../physics/results.ts";
import { limit, netName, percent, relatedPart } from "../frame/index.ts";
import type { Finding, Rule, RuleContext } from "../rule.ts";
import { networkOf } from "../shared/network.ts";
import { netsWith } from "../shared/nodes.ts";
import { type OutputSection, outputSections } from "../valve/output.ts";
import { supplyOf } from "./plate-supply.ts";

/** @param rule in whose name it is told, each supply once */
export function* singleEndedRipple(
  context: RuleContext,
  rule: Rule,
  idle: Solution,
): Generator<Finding | undefined> {
  const { circuit } = context;
  const told = new Set<number>();
  for (const entry of outputSections(circuit)) {
    yield;
    if (entry.pushPull) continue;
    const { section, transformer } = entry;
    const { net, what } = governing(circuit, entry);
    if (net === undefined || told.has(networkOf(circuit).nodeOf(net))) continue;
    told.add(networkOf(circuit).nodeOf(net));
    const volts = Math.abs(idle.volts[net]);
    const peakToPeak = idle.ripple[net];
    if (!(volts > 1) || Number.isNaN(peakToPeak)) continue;
    yield limit(context, rule, {
      on: [netName(circuit, net), section.valve.reference, transformer.reference],
      place: circuit.nets[net].mentions[0] ?? section.valve.referencePlace,
      value: peakToPeak,
      limit: volts * practice.singleEndedShare,
      unit: "V",
      state: "idle",
      mains: "nominal",
      words: () => ({
        says: `${netName(circuit, net)}, which feeds ${section.key}'s ${what}, has a ripple of`,
        limitIs: `practice keeps what a single-ended output stage lives on within ${percent(practice.singleEndedShare)},`,
        todo: `${transformer.reference} cancels none of it: the capacitor that belongs here, a larger one, or another resistor or choke and capacitor ahead of it.`,
        related: [
          relatedPart(section.valve, "its current follows this supply"),
          relatedPart(transformer, "single-ended: what comes to it goes to the loudspeaker"),
        ],
      }),
    });
  }
}

/** The supply that its current follows: of the screen where it has one of its own, of a triode the plate's. */
function governing(
  circuit: Circuit,
  { section, transformer }: OutputSection,
): { readonly net: NetIndex | undefined; readonly what: string } {
  const nets = transformer.plates?.nets ?? [];
  const { screen, plate } = section;
  const asTriode = screen === undefined || (plate !== undefined && netsWith(circuit, plate).includes(screen));
  if (asTriode) return { net: nets[nets.length - 1], what: "plate" };
  // A tap of the primary moves with the plate; what it is fed from is the primary's end.
  if (nets.slice(0, -1).some((net) => netsWith(circuit, net).includes(screen)))
    return { net: nets[nets.length - 1], what: "plate and screen" };
  return { net: supplyOf(circuit, { ...section, plate: screen })?.net ?? screen, what: "screen" };
}
