import { ripple as practice } from "../../facts/practice.ts";
import {
  finding,
  limit,
  netName,
  partsOn,
  percent,
  quantity,
  relatedNet,
  relatedPart,
} from "../frame/index.ts";
import type { Finding, Rule } from "../rule.ts";
import { alike } from "../shared/alike.ts";
import { netsWith } from "../shared/nodes.ts";
import { amplifying } from "../shared/sections.ts";
import { supplyOf } from "./plate-supply.ts";
import { singleEndedRipple } from "./single-ended-ripple.ts";

export const ripple: Rule = {
  id: "supply/ripple",
  severity: "advice",
  sentence: "There is more ripple on this supply than the stage that it feeds can bear.",
  why: "What is on a first stage's supply goes through the whole gain behind it; what is on the reservoir is modulated onto the signal.",
  source: practice.source,
  quiet:
    "Quiet up to 15 % peak to peak at a reservoir and 0.1 % at the supply of a stage that a jack feeds; up to 1 % at the supply of a single-ended output valve's screen (of a triode's plate). A push-pull transformer cancels what comes to both its ends, and a pentode's own plate hardly answers to its supply: neither is held to that.",
  bad: `amp "A first stage on the reservoir"
transformer T1 60VA {
  primary 230V 20R             { a b }
  ht      230-0-230V 80mA 200R { htA gnd htB }
}
htA -- diode D1 1N4007 -- HT
htB -- diode D2 1N4007 -- HT
HT -- capacitor C1 16u 500V electrolytic -- gnd
HT -- resistor R1 10k 20W wirewound -- gnd
jack J1 { tip: in, sleeve: gnd }
in -- resistor R2 1M 0.5W -- gnd
HT -- resistor R3 100k 1W 500V -- p1
valve V1 ECC83 { a { plate: p1, grid: in, cathode: k1 } }
k1 -- resistor R4 1k5 0.5W -- gnd
`,
  good: `amp "A first stage behind its filter"
transformer T1 60VA {
  primary 230V 20R             { a b }
  ht      230-0-230V 80mA 200R { htA gnd htB }
}
htA -- diode D1 1N4007 -- HT
htB -- diode D2 1N4007 -- HT
HT -- capacitor C1 32u 500V electrolytic -- gnd
HT -- resistor R1 10k 20W wirewound -- gnd
HT -- resistor R5 10k 2W 500V -- HT2 -- resistor R6 22k 1W 500V -- HT3
HT2 -- capacitor C2 32u 500V electrolytic -- gnd
HT3 -- capacitor C3 32u 500V electrolytic -- gnd
jack J1 { tip: in, sleeve: gnd }
in -- resistor R2 1M 0.5W -- gnd
HT3 -- resistor R3 100k 1W 500V -- p1
valve V1 ECC83 { a { plate: p1, grid: in, cathode: k1 } }
k1 -- resistor R4 1k5 0.5W -- gnd
`,
  *check(context) {
    const { circuit, analysis } = context;
    const idle = analysis.solution("idle", "nominal");
    if (!idle?.solved) return;
    const told = new Set<number>();
    for (const section of amplifying(circuit)) {
      yield;
      if (!isFirst(context, section.grid)) continue;
      const supply = supplyOf(circuit, section);
      if (!supply || told.has(supply.net)) continue;
      told.add(supply.net);
      const volts = Math.abs(idle.volts[supply.net]);
      const peakToPeak = idle.ripple[supply.net];
      if (!(volts > 1) || Number.isNaN(peakToPeak)) continue;
      const found = limit(context, ripple, {
        on: [netName(circuit, supply.net), section.valve.reference],
        place: circuit.nets[supply.net].mentions[0] ?? section.valve.referencePlace,
        says: `${netName(circuit, supply.net)}, which feeds ${section.key}'s plate, has a ripple of`,
        value: peakToPeak,
        limit: volts * practice.firstStageShare,
        limitIs: `practice keeps a first stage's supply within ${percent(practice.firstStageShare)},`,
        unit: "V",
        state: "idle",
        mains: "nominal",
        todo: "Another resistor and capacitor ahead of it.",
        related: [relatedPart(supply.part, "the stage's load")],
      });
      if (found) yield found;
    }
    yield* singleEndedRipple(context, ripple, idle);
    const swings: Finding[] = [];
    for (const part of circuit.parts) {
      yield;
      if (part.kind !== "capacitor" || !part.polarised) continue;
      const plus = part.terminals.get("plus");
      const reading = idle.readings.get(part.reference);
      const volts = Math.abs(reading?.volts ?? 0);
      const peakToPeak = reading?.ripple;
      if (plus === undefined || peakToPeak === undefined || volts < 60) continue;
      context.checked(part.reference);
      if (peakToPeak <= practice.reservoirShare * volts) continue;
      const found = finding(ripple, {
        message: `${part.reference} has ${quantity(peakToPeak, "V")} peak to peak of ripple on ${quantity(volts, "V")} at idle at nominal mains, ${percent(peakToPeak / volts)} of it: practice keeps a reservoir within ${percent(practice.reservoirShare)}. A larger one, if the rectifier may fill it.`,
        on: part.reference,
        place: part.referencePlace,
        state: "idle",
        mains: "nominal",
        value: peakToPeak,
        limit: practice.reservoirShare * volts,
        unit: "V",
        related: [relatedNet(circuit, plus, "the net that it holds up")],
      });
      swings.push(found);
    }
    yield* alike(swings);
  },
};

/** An input's way to its grid has fewer nets: what reaches more is a supply or a whole stage. */
const MOST_NETS = 12;

/** True for a grid that a jack feeds, through resistors and capacitors at most. */
function isFirst(context: Parameters<Rule["check"]>[0], grid: number | undefined): boolean {
  const { circuit } = context;
  if (grid === undefined) return false;
  const seen = new Set<number>(netsWith(circuit, grid));
  if (seen.size > MOST_NETS) return false;
  for (const net of seen) {
    if (net === circuit.ground) continue;
    const parts = partsOn(circuit, net);
    const joined = netsWith(circuit, net);
    if (parts.some((part) => part.kind === "jack" && joined.includes(part.terminals.get("tip") ?? -1)))
      return true;
    for (const part of parts) {
      if (part.kind !== "resistor" && part.kind !== "capacitor") continue;
      for (const next of part.terminals.values())
        if (next !== circuit.ground) for (const own of netsWith(circuit, next)) seen.add(own);
      // A supply's net has as many parts as the file has stages.
      if (seen.size > MOST_NETS) return false;
    }
  }
  return false;
}
