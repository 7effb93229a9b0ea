/** Kinds with few facts: source, lamp, speaker, bond, wire, jack, terminal-strip. */
import { isPieceOfName } from "../../../grammar/names.ts";
import type { Bond, Jack, Lamp, Source, Speaker, TerminalStrip, Wire } from "../model.ts";
import { wireOne } from "../wire.ts";
import { amps, endA, endB, made, ohms, required, volts, watts } from "./common.ts";
import { colourWords, crossSection, lengthFact } from "./conductors.ts";
import type { KindSpec } from "./kind.ts";

export const source: KindSpec = {
  kind: "source",
  description: "An ideal dc source for bench set-ups, with a series resistance where one is given.",
  example: "source B1 300V { plus: HT1, minus: gnd }",
  terminals: [
    { name: "plus", aliases: ["a", "positive", "1"], description: "plus, the first net" },
    { name: "minus", aliases: ["b", "negative", "2"], description: "minus" },
  ],
  path: true,
  facts: {
    numbers: [
      { ...volts, what: "voltage", example: "300V", required: true, least: -1e5, zero: true, labels: [] },
      { ...ohms, what: "series resistance", example: "100R", labels: ["resistance"] },
    ],
    words: { dc: { field: "direct", value: "direct", description: "Direct voltage, as every source." } },
  },
  limits: [],
  build(building) {
    const { base, facts } = building;
    return made<Source>(base, {
      kind: "source",
      volts: required(building, "volts", "voltage", "300V", 0, "0 V taken"),
      ohms: facts.numbers.ohms ?? {
        value: 0,
        origin: "default",
        source: "an ideal source where none is given",
      },
    });
  },
};

export const lamp: KindSpec = {
  kind: "lamp",
  description: "A pilot lamp; `neon` where it is one.",
  example: "h1 -- lamp LP1 6.3V 150mA -- h2",
  terminals: [endA, endB],
  path: true,
  facts: {
    numbers: [
      { ...volts, example: "6.3V" },
      { ...volts, field: "volts", alternating: true, what: "rated voltage", example: "6.3VAC" },
      amps,
      watts,
      {
        ...volts,
        field: "strikeVolts",
        what: "striking voltage",
        example: "strike 90V",
        labels: ["strike", "striking"],
        labelled: true,
      },
    ],
    words: {
      neon: { field: "gas", value: "neon", description: "Conducts only above its striking voltage." },
      incandescent: { field: "gas", value: "incandescent", description: "A filament lamp." },
      filament: { field: "gas", value: "incandescent", description: "A filament lamp." },
    },
  },
  limits: ["voltage"],
  build({ base, facts }) {
    return made<Lamp>(base, {
      kind: "lamp",
      volts: facts.numbers.volts,
      amps: facts.numbers.amps,
      watts: facts.numbers.watts,
      neon: facts.words.gas === "neon",
    });
  },
};

export const speaker: KindSpec = {
  kind: "speaker",
  description: "A loudspeaker.",
  example: "spk -- speaker LS1 15R 25W -- gnd",
  terminals: [
    { name: "a", aliases: ["plus", "1", "hot"], description: "the one end" },
    { name: "b", aliases: ["minus", "2", "cold"], description: "the other end" },
  ],
  path: true,
  facts: {
    numbers: [
      { ...ohms, what: "impedance", example: "8R", required: true, labels: [], zero: false, most: 1e5 },
      {
        ...ohms,
        field: "copperOhms",
        what: "dc resistance",
        example: "dcr 6R",
        labels: ["dcr"],
        labelled: true,
      },
      watts,
    ],
    words: {},
  },
  limits: ["power"],
  build(building) {
    return made<Speaker>(building.base, {
      kind: "speaker",
      ohms: required(building, "ohms", "impedance", "8R", 8, "8 Ω taken"),
      watts: building.facts.numbers.watts,
    });
  },
};

export const bond: KindSpec = {
  kind: "bond",
  description: "A fixing to the metal, or a solid joint to it.",
  example: "inE -- bond E1 own-fixing -- chassis",
  terminals: [endA, endB],
  path: true,
  facts: {
    numbers: [],
    words: {
      "own-fixing": {
        field: "fixing",
        value: "own-fixing",
        description: "A fixing that serves nothing else.",
      },
      "shared-fixing": {
        field: "fixing",
        value: "shared-fixing",
        description: "A fixing that something else shares.",
      },
    },
  },
  limits: ["its fixing"],
  build({ base, facts }) {
    return made<Bond>(base, { kind: "bond", fixing: facts.words.fixing as Bond["fixing"] });
  },
};

export const wire: KindSpec = {
  kind: "wire",
  description: "A piece of wire.",
  example: "A -- wire W2 0.75mm2 120mm red 600V -- B",
  terminals: [endA, endB],
  path: true,
  facts: {
    numbers: [
      crossSection,
      lengthFact,
      { ...volts, what: "insulation voltage", example: "600V", labels: ["insulation", "working"] },
    ],
    words: {
      ...colourWords,
      cloth: {
        field: "cover",
        value: "cloth",
        description: "Cloth-covered: no voltage is published for most of it.",
      },
    },
  },
  limits: ["insulation voltage", "cross-section"],
  build({ base, facts }) {
    return made<Wire>(base, {
      kind: "wire",
      squareMetres: facts.numbers.squareMetres,
      metres: facts.numbers.metres,
      colour: facts.words.colour,
      volts: facts.numbers.volts,
      cloth: facts.words.cover === "cloth",
    });
  },
};

export const jack: KindSpec = {
  kind: "jack",
  description: "A jack; its break contacts touch while no plug is in.",
  example: "jack J1 { tip: in, tip-break: gnd, sleeve: gnd }",
  terminals: [
    { name: "tip", description: "the plug's far contact" },
    { name: "ring", description: "the plug's middle contact" },
    { name: "sleeve", description: "the plug's body" },
    { name: "tip-break", aliases: ["break"], description: "touches the tip while no plug is in" },
    { name: "ring-break", description: "touches the ring while no plug is in" },
    { name: "sleeve-break", description: "touches the sleeve while no plug is in" },
  ],
  path: false,
  facts: {
    numbers: [],
    words: {
      insulated: { field: "mount", value: "insulated", description: "The sleeve does not touch the metal." },
      mono: { field: "poles", value: "mono", description: "Tip and sleeve." },
      stereo: { field: "poles", value: "stereo", description: "Tip, ring and sleeve." },
    },
  },
  limits: [],
  build({ base, facts }) {
    return made<Jack>(base, { kind: "jack", insulated: facts.words.mount === "insulated" });
  },
};

export const terminalStrip: KindSpec = {
  kind: "terminal-strip",
  description: "A strip of tags, each named as you like.",
  example: "terminal-strip TS1 { 1: HT1, 2: p1, 3: gnd }",
  terminals: [],
  path: false,
  facts: { numbers: [{ ...volts, example: "600V" }], words: {} },
  limits: [],
  wire(raw, problems) {
    for (const item of raw.items) {
      if (item.node === "terminal") wireOne(raw, item.terminal.text, item.terminal, item.nets[0], problems);
    }
  },
  terminalKey: (_raw, pieces) => (pieces.length === 1 && isPieceOfName(pieces[0]) ? pieces[0] : undefined),
  build({ base }) {
    return made<TerminalStrip>(base, { kind: "terminal-strip" });
  },
};
