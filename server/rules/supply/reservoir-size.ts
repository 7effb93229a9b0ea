import type { Capacitor, Circuit, NetIndex } from "../../circuit/model.ts";
import { reservoirSlack } from "../../facts/practice.ts";
import { ends, limit, listed, partsOn, quantity, relatedPart } from "../frame/index.ts";
import type { Finding, Rule } from "../rule.ts";
import { alike } from "../shared/alike.ts";
import { netsWith } from "../shared/nodes.ts";
import { electrodePlace, rated, sourceOf } from "../shared/sections.ts";
import { rectifierValves } from "./rectifiers.ts";

export const reservoirSize: Rule = {
  id: "supply/reservoir-size",
  severity: "error",
  sentence: "The reservoir is larger than the rectifier may be given to fill.",
  why: "The larger the reservoir, the shorter and higher the gulps that fill it, and the worse a hot switch-on: the cathode is stripped by the peaks.",
  source: "the rectifier's sheet: largest reservoir for capacitor input",
  quiet:
    "Quiet up to the published figure, and a remark as a warning up to a quarter above it, where the next standard value lies " +
    "(22 µF for 20). Cans in series count as their series value; choke input has no such limit.",
  bad: `amp "100 µF behind a 5Y3GT"
mains 120 V 60 Hz US
transformer T1 60VA {
  primary 120V 6R               { a b }
  ht      260-0-260V 80mA 250R  { htA gnd htB }
  rect    5V 2A 0.05R           { HT f }
}
valve V1 5Y3GT { plate1: htA, plate2: htB, cathode: HT, heater: HT f }
HT -- capacitor C1 100u 500V electrolytic -- gnd
HT -- resistor R1 10k 50W wirewound 700V -- gnd
`,
  good: `amp "16 µF behind a 5Y3GT"
mains 120 V 60 Hz US
transformer T1 60VA {
  primary 120V 6R               { a b }
  ht      260-0-260V 80mA 250R  { htA gnd htB }
  rect    5V 2A 0.05R           { HT f }
}
valve V1 5Y3GT { plate1: htA, plate2: htB, cathode: HT, heater: HT f }
HT -- capacitor C1 16u 500V electrolytic -- gnd
HT -- resistor R1 10k 50W wirewound 700V -- gnd
`,
  *check(context) {
    const { circuit } = context;
    const all: Finding[] = [];
    for (const valve of rectifierValves(circuit)) {
      yield;
      if (valve.input !== "capacitor") continue;
      const { farads, parts } = reservoirAt(circuit, valve.output);
      if (farads <= 0) continue;
      const bound = rated(valve, "reservoirFarads");
      const place = electrodePlace(valve, "cathode");
      if (!bound) {
        context.unchecked(valve.valve.reference, "largest reservoir (no limit is published)", place);
        continue;
      }
      const sharing = rectifierValves(circuit).filter(
        (other) =>
          netsWith(circuit, other.output).includes(valve.output) && other.valve.type === valve.valve.type,
      ).length;
      // Two valves side by side fill it together.
      const allowed = bound.value * Math.max(1, sharing);
      const found = limit(context, reservoirSize, {
        on: [valve.valve.reference, ...parts.map((part) => part.reference)],
        place,
        says: `${valve.key} fills`,
        value: farads,
        limit: allowed,
        limitIs: sharing > 1 ? `${bound.words} for ${sharing} together` : bound.words,
        unit: "F",
        severity: farads > allowed * reservoirSlack.share ? "error" : "warning",
        note: listed(parts.map((part) => part.reference)),
        todo: `A reservoir of ${quantity(allowed, "F")} or less, the rest behind a choke or a resistor.`,
        related: parts
          .slice(0, 4)
          .map((part) => relatedPart(part, `${part.reference}, ${quantity(part.farads.value, "F")}`)),
        source: sourceOf(valve.facts, bound.block),
      });
      if (found) all.push(found);
    }
    yield* alike(all);
  },
};

/** Capacitance that a net has to common straight: single capacitors, and strings over a midpoint of their own. */
export function reservoirAt(
  circuit: Circuit,
  net: NetIndex,
): { farads: number; parts: readonly Capacitor[] } {
  const here = netsWith(circuit, net);
  const common = new Set<NetIndex>(circuit.ground === undefined ? [] : netsWith(circuit, circuit.ground));
  let farads = 0;
  const parts: Capacitor[] = [];
  const capacitors = (nets: readonly NetIndex[]) =>
    [...new Set(nets.flatMap((own) => partsOn(circuit, own)))].filter(
      (part): part is Capacitor => part.kind === "capacitor",
    );
  for (const part of capacitors(here)) {
    const far = (ends(part) ?? []).find((end) => !here.includes(end));
    if (far === undefined) continue;
    if (common.has(far)) {
      farads += part.farads.value;
      parts.push(part);
      continue;
    }
    const mid = netsWith(circuit, far);
    const lower = capacitors(mid).filter(
      (other) => other !== part && (ends(other) ?? []).some((end) => common.has(end)),
    );
    const below = lower.reduce((sum, other) => sum + other.farads.value, 0);
    // A coupling capacitor to a grid is no reservoir: a string is of electrolytics.
    if (below <= 0 || !part.polarised || lower.some((other) => !other.polarised)) continue;
    farads += (part.farads.value * below) / (part.farads.value + below);
    parts.push(part, ...lower);
  }
  return { farads, parts };
}
