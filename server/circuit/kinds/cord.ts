/** The mains cord, and the inlet in its place: three leads, each with facts of its own. */
import type { CordOrInlet, Lead } from "../model.ts";
import type { Problems } from "../problems.ts";
import { readFacts } from "../read-facts.ts";
import { unknownRow, wireBody } from "../wire.ts";
import { amps, made, volts } from "./common.ts";
import { colourWords, crossSection, lengthFact } from "./conductors.ts";
import type { Building, FactTable, KindSpec, RawPart, TerminalSpec } from "./kind.ts";

const leadNames = ["active", "neutral", "earth"] as const;
const terminals: readonly TerminalSpec[] = [
  { name: "active", aliases: ["line", "live", "phase", "hot"], description: "the live conductor" },
  { name: "neutral", aliases: ["cold"], description: "the neutral" },
  { name: "earth", aliases: ["ground", "protective-earth"], description: "the protective earth" },
];
const leadFacts: FactTable = { numbers: [lengthFact, crossSection], words: colourWords };

function build(building: Building, kind: "cord" | "inlet"): CordOrInlet {
  const { base, facts, raw, problems } = building;
  const leads = new Map<(typeof leadNames)[number], Lead>();
  for (const name of leadNames) {
    const net = building.net(name);
    if (net !== undefined) leads.set(name, { net, place: base.terminalPlaces.get(name) ?? raw.place });
  }
  for (const item of raw.items) {
    if (item.node !== "terminal") continue;
    const spec = terminals.find(
      (one) => one.name === item.terminal.text || one.aliases?.includes(item.terminal.text),
    );
    const name = leadNames.find((one) => one === spec?.name);
    const lead = name && leads.get(name);
    if (!name || !lead) continue;
    const read = readFacts(
      leadFacts,
      item.facts,
      { reference: `${raw.reference}.${name}`, kind: "lead", file: raw.place.file },
      problems,
    );
    leads.set(name, {
      net: lead.net,
      place: building.place(item.range),
      metres: read.numbers.metres,
      colour: read.words.colour,
      // Only where the lead differs from the cord.
      squareMetres: read.numbers.squareMetres,
    });
  }
  const hold = facts.words.hold;
  return made<CordOrInlet>(base, {
    kind,
    leads,
    squareMetres: facts.numbers.squareMetres,
    amps: facts.numbers.amps,
    anchored: hold === undefined ? undefined : hold === "anchored",
  });
}

function wire(raw: RawPart, problems: Problems): void {
  wireBody(raw, terminals, problems, { facts: true });
  for (const item of raw.items) if (item.node === "row") unknownRow(raw, item, terminals, problems);
}

const facts: FactTable = {
  // A length behind the cord is its own; a lead's is that of the core inside the chassis.
  numbers: [crossSection, amps, lengthFact, { ...volts, example: "250V" }],
  words: {
    anchored: { field: "hold", value: "anchored", description: "Held by an anchorage of its own." },
    unanchored: { field: "hold", value: "unanchored", description: "Held by nothing but its joints." },
  },
};

export const cord: KindSpec = {
  kind: "cord",
  description: "The mains cord.",
  example:
    "cord W1 1.0mm2 10A anchored { active: inA 60mm brown, neutral: inN 60mm blue, earth: inE 110mm green-yellow }",
  terminals,
  path: false,
  facts,
  limits: ["current", "cross-section of the earth core", "length of the earth core", "colours", "anchorage"],
  wire,
  build: (building) => build(building, "cord"),
};

export const inlet: KindSpec = {
  ...cord,
  kind: "inlet",
  description: "The mains inlet, where the cord is a lead of its own.",
  example: "inlet J3 10A { active: inA 60mm brown, neutral: inN 60mm blue, earth: inE 110mm green-yellow }",
  build: (building) => build(building, "inlet"),
};
