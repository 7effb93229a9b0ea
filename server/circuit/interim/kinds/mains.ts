/** Kinds of the mains and earth side: cord, inlet, fuse, switch, bond, wire. */
import type { Fact } from "../../../../grammar/tree.ts";
import { baseOf, type Draft, type KindDefinition } from "../kind.ts";
import type { CordOrInlet, Lead, SwitchPole } from "../../model.ts";

export const colours = [
  "brown", "blue", "light-blue", "green-yellow", "green", "yellow", "black", "white", "red", "orange", "grey", "gray",
  "violet", "purple", "pink", "turquoise", "clear", "bare",
] as const;

const leads = ["active", "neutral", "earth"] as const;

function cordOrInlet(kind: "cord" | "inlet", help: string): KindDefinition {
  return {
    kind,
    help,
    path: [],
    terminals: leads,
    aliases: { live: "active", line: "active", phase: "active", ground: "earth" },
    words: ["anchored", "unanchored"],
    facts: [
      { example: "1.0mm2", what: "cross-section" },
      { example: "10A", what: "rated current" },
      { example: "anchored", what: "anchored or unanchored" },
    ],
    limits: ["current"],
    build(draft): CordOrInlet {
      const { facts } = draft;
      const squareMetres = facts.quantity("squareMetres", { units: ["square-metre"], range: [1e-9, 1e-3] });
      const amps = facts.quantity("amps", { units: ["ampere"], range: [0.01, 1000] });
      facts.quantity("volts", { units: ["volt"] });
      facts.quantity("metres", { units: ["metre"] });
      const anchored = facts.word("anchored", ["anchored", "unanchored"]);
      facts.finish(["anchored", "unanchored"]);
      const found = new Map<(typeof leads)[number], Lead>();
      for (const name of leads) {
        const terminal = draft.terminals.get(name);
        if (terminal === undefined) continue;
        const reader = draft.reader(terminal.facts, `the ${name} of ${draft.reference}`);
        const metres = reader.quantity("metres", { units: ["metre"], range: [1e-3, 100] });
        const own = reader.quantity("squareMetres", { units: ["square-metre"], range: [1e-9, 1e-3] });
        const colour = reader.word("colour", colours);
        reader.finish(colours);
        for (const [field, place] of reader.places) facts.places.set(`${name}.${field}`, place);
        found.set(name, {
          net: terminal.net,
          place: terminal.place,
          ...(metres ? { metres } : {}),
          ...(colour ? { colour } : {}),
          ...(own ? { squareMetres: own } : {}),
        });
      }
      return {
        ...baseOf(draft),
        kind,
        leads: found,
        ...(squareMetres ? { squareMetres } : {}),
        ...(amps ? { amps } : {}),
        ...(anchored ? { anchored: anchored === "anchored" } : {}),
      };
    },
  };
}

export const cord = cordOrInlet("cord", "The mains cord: active, neutral, earth, each with length, colour and, where it differs, cross-section.");
export const inlet = cordOrInlet("inlet", "An appliance inlet: active, neutral, earth.");

export const fuse: KindDefinition = {
  kind: "fuse",
  help: "A fuse: IEC 60127 letter and current in one, volts, breaking class L or H. Its first net is the holder's tip, the second its ring.",
  path: ["tip", "ring"],
  terminals: ["tip", "ring"],
  aliases: { side: "ring" },
  words: ["L", "H", "glass", "ceramic"],
  facts: [
    { example: "T500mA", what: "character and current", required: true },
    { example: "250V", what: "rated volts" },
    { example: "H", what: "breaking class L or H" },
  ],
  limits: ["current", "voltage"],
  build(draft) {
    const { facts } = draft;
    const marked = facts.take("amps", (fact) => fact.fuse !== undefined);
    const plain = marked ? undefined : facts.quantity("amps", { units: ["ampere"], range: [1e-3, 100] });
    const volts = facts.quantity("volts", { units: ["volt"], range: [1, 10_000] });
    const breaking = facts.word("breaking", ["L", "H"]);
    const body = facts.word("material", ["glass", "ceramic"]);
    const character = marked ? undefined : facts.word("character", ["FF", "F", "M", "T", "TT", "slow", "fast"]);
    facts.finish(["L", "H"]);
    const amps = marked?.fuse ? { value: marked.fuse.amps, origin: "file" as const, place: facts.place(marked) } : plain;
    if (amps === undefined) {
      draft.problem("circuit/missing-value", `${facts.subject} has no current: write letter and amperes in one, such as T500mA.`, draft.referencePlace, [draft.reference]);
      return undefined;
    }
    const letter = marked?.fuse?.letter ?? (character === "slow" ? "T" : character === "fast" ? "F" : character);
    const high = breaking ?? (body === "ceramic" ? "H" : body === "glass" ? "L" : undefined);
    return {
      ...baseOf(draft),
      kind: "fuse",
      amps,
      ...(letter ? { character: letter } : {}),
      ...(volts ? { volts } : {}),
      ...(high ? { breaking: high } : {}),
    };
  },
};

const contacts = ["spst", "spdt", "dpst", "dpdt"] as const;

export const switchKind: KindDefinition = {
  kind: "switch",
  help: "A switch: `mains`, `standby` or a name of its own; spst, spdt, dpst or dpdt; poles as blocks. In a path, its common is on the left.",
  path: ["common", "on"],
  terminals: "any",
  words: [...contacts, "mains", "standby", "centre-off"],
  facts: [
    { example: "mains", what: "mains, standby, or a name of its own" },
    { example: "dpst", what: contacts.join(", ") },
    { example: "250V", what: "rated volts" },
    { example: "6A", what: "rated current" },
    { example: "400V dc", what: "rated direct volts" },
  ],
  limits: ["voltage", "current"],
  rows: "poles",
  build(draft) {
    const { facts } = draft;
    const voltsDirect =
      facts.quantity("voltsDirect", { units: ["volt"], direct: true, range: [1, 10_000] }) ??
      facts.quantity("voltsDirect", { units: ["volt"], label: "dc", range: [1, 10_000] });
    const volts = facts.quantity("volts", { units: ["volt"], range: [1, 10_000] });
    const amps = facts.quantity("amps", { units: ["ampere"], range: [1e-4, 1000] });
    const contact = facts.word("contacts", contacts);
    const centre = facts.word("centre", ["centre-off", "center-off"]) !== undefined;
    const known = facts.word("duty", ["mains", "standby"]);
    const own = known ?? facts.take("duty", (fact) => fact.word !== undefined && fact.quantity === undefined && fact.label === undefined)?.text;
    facts.finish(switchKind.words);
    const poles: SwitchPole[] = draft.rows.map((row) => pole(row.item.name.text, row.terminals));
    if (poles.length === 0) {
      const terminals = new Map([...draft.terminals].map(([name, { net }]) => [name, { net }]));
      // A one-pole switch between two nets may name them so: the second is what it closes to.
      poles.push(pole("", terminals));
    }
    const throws = new Set(poles.flatMap((one) => [...one.throws.keys()]));
    const double = contact === "spdt" || contact === "dpdt";
    const numbered = [...throws].some((name) => /^\d+$/.test(name));
    const positions = numbered ? [...throws].sort((one, other) => Number(one) - Number(other)) : ["on", "off"];
    for (const name of throws) if (!positions.includes(name)) positions.push(name);
    if (centre) positions.push("centre");
    const wanted = contact?.startsWith("d") ? 2 : contact ? 1 : poles.length;
    if (contact && poles.length > wanted)
      draft.problem("circuit/unknown-terminal", `${facts.subject} is ${contact} and has ${poles.length} poles written.`, draft.referencePlace);
    void double;
    const terminals = new Map<string, number>();
    const terminalPlaces = new Map<string, typeof draft.place>();
    for (const [name, { net, place }] of draft.terminals) {
      terminals.set(name, net);
      terminalPlaces.set(name, place);
    }
    for (const row of draft.rows) {
      for (const [name, { net, place }] of row.terminals) {
        terminals.set(`${row.item.name.text}.${name}`, net);
        terminalPlaces.set(`${row.item.name.text}.${name}`, place);
      }
    }
    return {
      ...baseOf(draft),
      terminals,
      terminalPlaces,
      kind: "switch",
      duty: own ?? "",
      poles,
      positions,
      ...(volts ? { volts } : {}),
      ...(voltsDirect ? { voltsDirect } : {}),
      ...(amps ? { amps } : {}),
    };
  },
};

function pole(name: string, terminals: ReadonlyMap<string, { readonly net: number }>): SwitchPole {
  const common = terminals.get("common")?.net;
  const throws = new Map<string, number>();
  for (const [terminal, { net }] of terminals) if (terminal !== "common") throws.set(terminal, net);
  return { name, ...(common === undefined ? {} : { common }), throws };
}

export const bond: KindDefinition = {
  kind: "bond",
  help: "A bond to metal: `own-fixing` or `shared-fixing`.",
  path: ["a", "b"],
  terminals: ["a", "b"],
  words: ["own-fixing", "shared-fixing"],
  facts: [{ example: "own-fixing", what: "own-fixing or shared-fixing" }],
  limits: [],
  build(draft) {
    const fixing = draft.facts.word("fixing", ["own-fixing", "shared-fixing"]);
    draft.facts.quantity("squareMetres", { units: ["square-metre"] });
    draft.facts.quantity("metres", { units: ["metre"] });
    draft.facts.word("colour", colours);
    draft.facts.finish(["own-fixing", "shared-fixing"]);
    return { ...baseOf(draft), kind: "bond", ...(fixing ? { fixing } : {}) };
  },
};

export const wire: KindDefinition = {
  kind: "wire",
  help: "A piece of wire: cross-section, length, colour, insulation voltage, `cloth`.",
  path: ["a", "b"],
  terminals: ["a", "b"],
  words: [...colours, "cloth"],
  facts: [
    { example: "0.75mm2", what: "cross-section" },
    { example: "60mm", what: "length" },
    { example: "brown", what: "colour" },
    { example: "600V", what: "insulation voltage" },
    { example: "cloth", what: "cloth-covered" },
  ],
  limits: ["voltage"],
  build(draft) {
    const { facts } = draft;
    const squareMetres = facts.quantity("squareMetres", { units: ["square-metre"], range: [1e-9, 1e-3] });
    const metres = facts.quantity("metres", { units: ["metre"], range: [1e-4, 100] });
    const volts = facts.quantity("volts", { units: ["volt"], range: [1, 100_000] }) ?? facts.quantity("volts", { units: ["volt"], label: "insulation", range: [1, 100_000] });
    const colour = facts.word("colour", colours);
    const cloth = facts.word("cloth", ["cloth"]) !== undefined;
    facts.finish(wire.words);
    return {
      ...baseOf(draft),
      kind: "wire",
      ...(squareMetres ? { squareMetres } : {}),
      ...(metres ? { metres } : {}),
      ...(colour ? { colour } : {}),
      ...(volts ? { volts } : {}),
      cloth,
    };
  },
};

export type { Draft, Fact };
