/** Kinds that need little said: thermistor, choke, diode, zener, bridge, lamp, speaker, source, jack, terminal strip. */
import { chokeTolerance, thermistorTolerance, zenerTolerance } from "../facts/resistors.ts";
import { chokeOhmsPerHenry } from "../facts/transformers.ts";
import { findSemiconductor } from "../../../facts/valves/index.ts";
import { assumed } from "../fact-reader.ts";
import { baseOf, type Draft, type KindDefinition } from "../kind.ts";
import type { Given } from "../../model.ts";

const missing = (draft: Draft, what: string) =>
  draft.problem("circuit/missing-value", `${draft.facts.subject} has no ${what}.`, draft.referencePlace, [draft.reference]);

const tolerance = (draft: Draft, standard: { readonly value: number; readonly source: string }): Given => {
  const percent = draft.facts.quantity("tolerance", { units: ["percent"], range: [0, 100] });
  return percent ? { ...percent, value: percent.value / 100 } : assumed(standard.value, "default", standard.source);
};

export const thermistor: KindDefinition = {
  kind: "thermistor",
  help: "An inrush thermistor: ohms cold, `hot 2R` at its working current, amperes.",
  path: ["a", "b"],
  terminals: ["a", "b"],
  words: [],
  facts: [
    { example: "10R", what: "resistance cold", required: true },
    { example: "hot 1R", what: "resistance at its working current" },
    { example: "3A", what: "rated current" },
  ],
  limits: ["current"],
  build(draft) {
    const { facts } = draft;
    const cold = facts.quantity("ohms", { units: ["ohm", "none"], label: "cold", range: [1e-3, 1e7] });
    const ohms = cold ?? facts.quantity("ohms", { units: ["ohm", "none"], range: [1e-3, 1e7] });
    const hotOhms = facts.quantity("hotOhms", { units: ["ohm", "none"], label: "hot", range: [1e-4, 1e7] });
    const amps = facts.quantity("amps", { units: ["ampere"], range: [1e-3, 1000] });
    const spread = tolerance(draft, thermistorTolerance);
    facts.finish([]);
    if (!ohms) return void missing(draft, "resistance: write it in ohms, such as 10R");
    return { ...baseOf(draft), kind: "thermistor", ohms, ...(hotOhms ? { hotOhms } : {}), ...(amps ? { amps } : {}), tolerance: spread };
  },
};

export const choke: KindDefinition = {
  kind: "choke",
  help: "A smoothing choke: henries, rated direct current, resistance.",
  path: ["a", "b"],
  terminals: ["a", "b"],
  words: [],
  facts: [
    { example: "10H", what: "inductance", required: true },
    { example: "100mA", what: "rated direct current" },
    { example: "220R", what: "resistance" },
  ],
  limits: ["current"],
  build(draft) {
    const { facts } = draft;
    const henries = facts.quantity("henries", { units: ["henry", "none"], range: [1e-9, 10_000] });
    const amps = facts.quantity("amps", { units: ["ampere"], range: [1e-4, 100] });
    const ohms =
      facts.quantity("ohms", { units: ["ohm"], label: ["dcr", "resistance"], range: [0, 1e6] }) ??
      facts.quantity("ohms", { units: ["ohm"], range: [0, 1e6] });
    const spread = tolerance(draft, chokeTolerance);
    facts.finish([]);
    if (!henries) return void missing(draft, "inductance: write it in henries, such as 10H");
    return {
      ...baseOf(draft),
      kind: "choke",
      henries,
      ...(amps ? { amps } : {}),
      ohms: ohms ?? assumed(henries.value * chokeOhmsPerHenry.value, "estimate", chokeOhmsPerHenry.source),
      tolerance: spread,
    };
  },
};

/** A type word that no unit explains: `1N4007`. */
function typeOf(draft: Draft): string | undefined {
  return draft.facts.take("type", (fact) => fact.label === undefined && fact.quantity?.unit !== "volt" && fact.quantity?.unit !== "ampere" && fact.quantity?.unit !== "watt" && /^[0-9]*[A-Za-z]+[0-9A-Za-z-]*$/.test(fact.text) && fact.quantity === undefined)?.text;
}

export const diode: KindDefinition = {
  kind: "diode",
  help: "A semiconductor diode, anode then cathode: a type such as 1N4007, or its peak inverse volts and average amperes.",
  path: ["anode", "cathode"],
  terminals: ["anode", "cathode"],
  aliases: { a: "anode", k: "cathode" },
  words: ["silicon"],
  facts: [
    { example: "1N4007", what: "type" },
    { example: "1000V", what: "repetitive peak inverse volts" },
    { example: "1A", what: "average forward current" },
  ],
  limits: ["inverse voltage", "current"],
  build(draft) {
    const { facts } = draft;
    facts.word("material", ["silicon"]);
    const volts = facts.quantity("volts", { units: ["volt"], range: [1, 100_000] });
    const amps = facts.quantity("amps", { units: ["ampere"], range: [1e-6, 10_000] });
    const type = typeOf(draft);
    facts.finish(["silicon"]);
    const known = type === undefined ? undefined : findSemiconductor(type)?.limits;
    return {
      ...baseOf(draft),
      kind: "diode",
      ...(type ? { type } : {}),
      ...rating("volts", volts, known?.inverseVolts, known?.source),
      ...rating("amps", amps, known?.forwardAmpsAverage, known?.source),
    };
  },
};

function rating<K extends string>(field: K, written: Given | undefined, published: number | undefined, source: string | undefined): { [key in K]?: Given } {
  if (written) return { [field]: written } as { [key in K]: Given };
  return published === undefined ? {} : ({ [field]: assumed(published, "default", source ?? "the type's sheet") } as { [key in K]: Given });
}

export const zener: KindDefinition = {
  kind: "zener",
  help: "A zener diode, anode then cathode: volts, watts, slope resistance.",
  path: ["anode", "cathode"],
  terminals: ["anode", "cathode"],
  aliases: { a: "anode", k: "cathode" },
  words: [],
  facts: [
    { example: "12V", what: "zener voltage", required: true },
    { example: "5W", what: "rated dissipation" },
    { example: "slope 10R", what: "slope resistance" },
  ],
  limits: ["power"],
  build(draft) {
    const { facts } = draft;
    const volts = facts.quantity("volts", { units: ["volt"], range: [0.5, 1000] });
    const watts = facts.quantity("watts", { units: ["watt"], range: [0.01, 500] });
    const ohms = facts.quantity("ohms", { units: ["ohm", "none"], label: "slope", range: [0, 1e5] }) ?? facts.quantity("ohms", { units: ["ohm"], range: [0, 1e5] });
    const spread = tolerance(draft, zenerTolerance);
    typeOf(draft);
    facts.finish([]);
    if (!volts) return void missing(draft, "zener voltage, such as 12V");
    return { ...baseOf(draft), kind: "zener", volts, ...(watts ? { watts } : {}), ...(ohms ? { ohms } : {}), tolerance: spread };
  },
};

export const bridge: KindDefinition = {
  kind: "bridge",
  help: "Four diodes as a bridge: ac1, ac2, plus, minus.",
  path: [],
  terminals: ["ac1", "ac2", "plus", "minus"],
  aliases: { "+": "plus", "-": "minus" },
  words: ["silicon"],
  facts: [
    { example: "1000V", what: "repetitive peak inverse volts of each arm" },
    { example: "1A", what: "average output current" },
    { example: "1N4007", what: "type of the arms" },
  ],
  limits: ["inverse voltage", "current"],
  build(draft) {
    const { facts } = draft;
    facts.word("material", ["silicon"]);
    const volts = facts.quantity("volts", { units: ["volt"], range: [1, 100_000] });
    const amps = facts.quantity("amps", { units: ["ampere"], range: [1e-6, 10_000] });
    const type = typeOf(draft);
    facts.finish(["silicon"]);
    const known = type === undefined ? undefined : findSemiconductor(type)?.limits;
    return {
      ...baseOf(draft),
      kind: "bridge",
      ...(type ? { type } : {}),
      ...rating("volts", volts, known?.inverseVolts, known?.source),
      ...rating("amps", amps, known?.forwardAmpsAverage, known?.source),
    };
  },
};

const lampWords = ["neon", "filament", "led"] as const;
export const lamp: KindDefinition = {
  kind: "lamp",
  help: "A pilot lamp: volts and amperes or watts; `neon` conducts only above its striking voltage.",
  path: ["a", "b"],
  terminals: ["a", "b"],
  words: lampWords,
  facts: [
    { example: "6.3V", what: "rated volts" },
    { example: "150mA", what: "rated current" },
    { example: "neon", what: "a neon lamp" },
  ],
  limits: ["voltage"],
  build(draft) {
    const { facts } = draft;
    const volts = facts.quantity("volts", { units: ["volt"], range: [0.1, 1000] });
    const amps = facts.quantity("amps", { units: ["ampere"], range: [1e-6, 100] });
    const watts = facts.quantity("watts", { units: ["watt"], range: [1e-4, 1000] });
    facts.quantity("ohms", { units: ["ohm", "none"], range: [0, 1e9] });
    const kind = facts.word("material", lampWords);
    facts.finish(lampWords);
    return { ...baseOf(draft), kind: "lamp", ...(volts ? { volts } : {}), ...(amps ? { amps } : {}), ...(watts ? { watts } : {}), neon: kind === "neon" };
  },
};

export const speaker: KindDefinition = {
  kind: "speaker",
  help: "A loudspeaker: nominal ohms and watts.",
  path: ["a", "b"],
  terminals: ["a", "b"],
  aliases: { plus: "a", minus: "b" },
  words: [],
  facts: [
    { example: "8R", what: "nominal impedance", required: true },
    { example: "30W", what: "rated power" },
  ],
  limits: ["power"],
  build(draft) {
    const { facts } = draft;
    const ohms = facts.quantity("ohms", { units: ["ohm", "none"], range: [0.1, 100_000] });
    const watts = facts.quantity("watts", { units: ["watt"], range: [0.01, 10_000] });
    facts.finish([]);
    if (!ohms) return void missing(draft, "impedance: write it in ohms, such as 8R");
    return { ...baseOf(draft), kind: "speaker", ohms, ...(watts ? { watts } : {}) };
  },
};

export const source: KindDefinition = {
  kind: "source",
  help: "An ideal direct-current source for bench set-ups, plus on its first net, with an optional series resistance.",
  path: ["plus", "minus"],
  terminals: ["plus", "minus"],
  aliases: { "+": "plus", "-": "minus" },
  words: [],
  facts: [
    { example: "300V", what: "volts", required: true },
    { example: "50R", what: "series resistance" },
  ],
  limits: [],
  build(draft) {
    const { facts } = draft;
    const volts = facts.quantity("volts", { units: ["volt", "none"], range: [-1e6, 1e6] });
    const ohms = facts.quantity("ohms", { units: ["ohm"], range: [0, 1e9] });
    facts.word("direct", ["dc"]);
    facts.finish([]);
    if (!volts) return void missing(draft, "voltage, such as 300V");
    return { ...baseOf(draft), kind: "source", volts, ohms: ohms ?? assumed(0, "default", "an ideal source") };
  },
};

export const jack: KindDefinition = {
  kind: "jack",
  help: "A jack: tip, ring, sleeve and their break contacts, which close while nothing is plugged in. `insulated` when its sleeve does not touch the metal.",
  path: [],
  terminals: ["tip", "ring", "sleeve", "tip-break", "ring-break", "sleeve-break"],
  words: ["insulated", "mono", "stereo"],
  facts: [{ example: "insulated", what: "its sleeve does not touch the metal" }],
  limits: [],
  build(draft) {
    const insulated = draft.facts.word("insulated", ["insulated"]) !== undefined;
    draft.facts.word("material", ["mono", "stereo"]);
    draft.facts.finish(["insulated"]);
    return { ...baseOf(draft), kind: "jack", insulated };
  },
};

export const terminalStrip: KindDefinition = {
  kind: "terminal-strip",
  help: "A strip of tags, each with a net of its own.",
  path: [],
  terminals: "any",
  words: [],
  facts: [],
  limits: [],
  build(draft) {
    draft.facts.finish([]);
    return { ...baseOf(draft), kind: "terminal-strip" };
  },
};
