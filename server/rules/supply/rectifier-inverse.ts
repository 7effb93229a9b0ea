import { limit, relatedPart, type Worst } from "../frame/index.ts";
import type { Finding, Rule, RuleContext } from "../rule.ts";
import { electrodePlace, rated, sourceOf } from "../shared/sections.ts";
import { worstRated } from "../shared/worst-near.ts";
import { feeding, openVolts, type RectifierValve, rectifierValves } from "./rectifiers.ts";

export const rectifierInverse: Rule = {
  id: "supply/rectifier-inverse",
  severity: "error",
  sentence: "The rectifier blocks more volts than its sheet allows.",
  why: "While one plate conducts the other has the whole winding's peak against it: past its rating it arcs across, which shorts the winding.",
  source: "the rectifier's sheet: peak inverse volts, and rms volts a plate",
  quiet:
    "Quiet up to the published figures. The rms volts a plate are held where the inverse volts are not already over.",
  bad: `amp "An EZ80 on too much winding"
transformer T1 100VA {
  primary 230V 10R             { a b }
  ht      420-0-420V 60mA 800R { htA gnd htB }
}
valve V1 EZ80 { plate1: htA, plate2: htB, cathode: HT }
HT -- capacitor C1 16u 800V film -- gnd
HT -- resistor R1 22k 50W wirewound 800V -- gnd
`,
  good: `amp "An EZ80 on its winding"
transformer T1 100VA {
  primary 230V 10R             { a b }
  ht      250-0-250V 60mA 300R { htA gnd htB }
}
valve V1 EZ80 { plate1: htA, plate2: htB, cathode: HT }
HT -- capacitor C1 16u 600V electrolytic -- gnd
HT -- resistor R1 22k 50W wirewound 700V -- gnd
`,
  *check(context) {
    for (const valve of rectifierValves(context.circuit)) {
      yield;
      const found = inverse(context, valve) ?? rms(context, valve);
      if (found) yield found;
    }
  },
};

function inverse(context: RuleContext, valve: RectifierValve): Finding | undefined {
  const bound = rated(valve, "inverseVolts");
  const place = electrodePlace(valve, valve.plates[0]?.name);
  if (!bound) {
    context.unchecked(valve.valve.reference, "inverse volts (no limit is published)", place);
    return undefined;
  }
  let most: Worst | undefined;
  let key = valve.valve.reference;
  for (const plate of valve.plates) {
    const next = worstRated(context.analysis, valve.valve.reference, plate.key, "inverse", bound);
    if (next && (!most || next.value > most.value)) {
      most = next;
      key = plate.key;
    }
  }
  if (!most) return undefined;
  return limit(context, rectifierInverse, {
    on: [valve.valve.reference, key],
    place,
    says: `${key} blocks`,
    value: most.value,
    limit: bound.value,
    limitIs: bound.words,
    unit: "V",
    state: most.state,
    mains: most.mains,
    estimate: most.estimate,
    todo: "A lower winding, or a rectifier rated for it.",
    related: [
      relatedPart(feeding(context.circuit, valve.plates[0]?.net ?? -1)?.transformer, "fed from here"),
    ],
    source: sourceOf(valve.facts, bound.block),
  });
}

function rms(context: RuleContext, valve: RectifierValve): Finding | undefined {
  const bound = rated(
    valve,
    valve.input === "choke" ? "plateRmsVoltsChokeInput" : "plateRmsVoltsCapacitorInput",
  );
  const feed = valve.plates[0] && feeding(context.circuit, valve.plates[0].net);
  if (!bound || !feed) return undefined;
  return limit(context, rectifierInverse, {
    on: [valve.valve.reference, feed.transformer.reference],
    place: electrodePlace(valve, valve.plates[0].name),
    says: `${valve.key} has, unloaded, an rms voltage a plate of`,
    value: openVolts(context.circuit, feed),
    limit: bound.value,
    limitIs: `${bound.words}, ${valve.input} input,`,
    unit: "V",
    mains: "nominal",
    todo: "A lower winding, or a rectifier rated for it.",
    related: [relatedPart(feed.transformer, "fed from here")],
    source: sourceOf(valve.facts, bound.block),
  });
}
