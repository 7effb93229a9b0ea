import { limit, quantity, relatedPart, worstOf } from "../frame/index.ts";
import type { Finding, Rule, RuleContext } from "../rule.ts";
import { electrodePlace, type Rated, rated, sourceOf, whereOf } from "../shared/sections.ts";
import { drivenSupply } from "./driven.ts";
import {
  between,
  feeding,
  openVolts,
  platesAmps,
  type RectifierValve,
  rectifierValves,
} from "./rectifiers.ts";

export const rectifierDirectCurrent: Rule = {
  id: "supply/rectifier-direct-current",
  severity: "error",
  sentence: "The rectifier valve gives more direct current than its sheet allows.",
  why: "Its cathode is worn out early, its plates run red, and a flash-over inside it puts the whole winding across the reservoir.",
  source: "the rectifier's sheet: dc output current, and its chart by rms volts where it has one",
  quiet:
    "Quiet up to the published current for the rms volts on the plates; a valve with one plate in use is held to half of it, " +
    "since the sheets give it for both.",
  bad: `amp "An EZ80 at more than it can give"
transformer T1 100VA {
  primary 230V 10R              { a b }
  ht      250-0-250V 200mA 370R { htA gnd htB }
}
valve V1 EZ80 { plate1: htA, plate2: htB, cathode: HT }
HT -- capacitor C1 32u 450V electrolytic -- gnd
HT -- resistor R1 2k 100W wirewound -- gnd
`,
  good: `amp "An EZ80 at its ease"
transformer T1 100VA {
  primary 230V 10R              { a b }
  ht      250-0-250V 100mA 300R { htA gnd htB }
}
valve V1 EZ80 { plate1: htA, plate2: htB, cathode: HT }
HT -- capacitor C1 32u 450V electrolytic -- gnd
HT -- resistor R1 5k 100W wirewound -- gnd
`,
  leads: [
    { rule: "supply/rectifier-peak-current", sharing: "part", manner: "mark" },
    { rule: "valve/bias-cold", sharing: "any", manner: "mark" },
  ],
  *check(context) {
    for (const valve of rectifierValves(context.circuit)) {
      yield;
      const bound = chartLimit(context, valve) ?? plain(valve);
      if (!bound) {
        context.unchecked(
          valve.valve.reference,
          "direct current of the rectifier (no limit is published)",
          electrodePlace(valve, "cathode"),
        );
        continue;
      }
      const found = held(context, valve, bound);
      if (found) yield found;
    }
  },
};

interface Bound extends Rated {
  readonly note?: string;
}

function plain(valve: RectifierValve): Bound | undefined {
  const bound = rated(valve, "outputAmps");
  return bound && halved(valve, bound);
}

/** The figure of the rating chart at the rms volts on the plates. */
function chartLimit(context: RuleContext, valve: RectifierValve): Bound | undefined {
  const bound = rated(valve, "outputAmps");
  const block = bound?.block;
  const chart = block?.outputAmpsByRmsVolts?.[valve.input];
  const feed = valve.plates[0] && feeding(context.circuit, valve.plates[0].net);
  if (!block || !chart?.length || !feed) return undefined;
  const rms = openVolts(context.circuit, feed);
  const value = between(chart, rms, "flat");
  return halved(valve, {
    value,
    block,
    words: `${bound.words} at ${quantity(rms, "V")} rms a plate, ${valve.input} input,`,
  });
}

/** Sheets give the current for both plates together. */
function halved(valve: RectifierValve, bound: Bound): Bound {
  const made = valve.facts?.sections[0]?.electrodes.filter((name) => name.startsWith("plate")).length ?? 2;
  if (valve.plates.length >= made || valve.plates.length === 0) return bound;
  return {
    ...bound,
    value: (bound.value * valve.plates.length) / made,
    words: `${bound.words} (half of it, one plate in use)`,
  };
}

function held(context: RuleContext, valve: RectifierValve, bound: Bound): Finding | undefined {
  const where = whereOf(bound.block);
  const most = worstOf(
    context.analysis,
    where,
    (solution) => platesAmps(valve, solution.readings),
    (solution) => {
      const bands = valve.plates.map((plate) => solution.band(plate.key, "amps"));
      if (bands.some((band) => !band)) return undefined;
      const sum = (pick: "low" | "nominal" | "high") =>
        bands.reduce((all, band) => all + (band?.[pick] ?? 0), 0);
      return { low: sum("low"), nominal: sum("nominal"), high: sum("high") };
    },
    valve.key,
  );
  if (!most) return undefined;
  const more = drivenSupply(context.analysis, { output: valve.output }, where.levels);
  const driven = more && more.factor > 1 && most.state !== "cold" ? most.value * more.factor : undefined;
  const value = driven ?? most.value;
  return limit(context, rectifierDirectCurrent, {
    on: valve.valve.reference,
    place: electrodePlace(valve, "cathode"),
    says: `${valve.key} gives`,
    value,
    limit: bound.value,
    limitIs: bound.words,
    unit: "A",
    state: driven === undefined ? most.state : "drive",
    mains: most.mains,
    note: driven === undefined ? undefined : `${quantity(most.value, "A")} at idle`,
    estimate: most.estimate,
    todo: "A larger rectifier, two with a resistor of their own in each plate lead, or less current.",
    related: [
      relatedPart(feeding(context.circuit, valve.plates[0]?.net ?? -1)?.transformer, "fed from here"),
    ],
    source: sourceOf(valve.facts, bound.block),
  });
}
