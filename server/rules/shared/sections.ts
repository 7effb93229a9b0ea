/** Valve sections with what is published of them. */

import { KeptWith } from "../../circuit/kept-with.ts";
import type { Circuit, NetIndex, Place, Valve, ValveSection } from "../../circuit/model.ts";
import { bookOf } from "../../facts/valves/book.ts";
import type { ValveFacts, ValveLimits } from "../../facts/valves/index.ts";
import { partsOf, type Where } from "../frame/index.ts";

export interface Section {
  readonly valve: Valve;
  readonly section: ValveSection;
  /** Key of its readings: `V3`, `V1.a`; an electrode's is `key.plate`. */
  readonly key: string;
  readonly facts?: ValveFacts;
  /** Limits that the name as written has of its own. */
  readonly named?: ValveLimits;
  readonly rectifier: boolean;
  readonly plate?: NetIndex;
  readonly grid?: NetIndex;
  readonly screen?: NetIndex;
  readonly cathode?: NetIndex;
}

const kept = new KeptWith<Circuit, readonly Section[]>();

/** Every section that is wired, in the file's order. A section never written is unused, and not here. */
export function sectionsOf(circuit: Circuit): readonly Section[] {
  let sections = kept.get(circuit);
  if (sections) return sections;
  const found: Section[] = [];
  const book = bookOf(circuit);
  // A file has a handful of types, however many valves.
  const byName = new Map<string, ValveLimits | undefined>();
  for (const valve of partsOf(circuit, "valve")) {
    const facts = valve.type === undefined ? undefined : book.find(valve.type);
    const { typeWritten } = valve;
    for (const section of valve.sections) {
      const name = `${typeWritten} ${section.name}`;
      if (!byName.has(name)) byName.set(name, book.limitsOfName(typeWritten, section.name));
      const named = byName.get(name);
      const at = (name: string) => section.electrodes.get(name);
      found.push({
        valve,
        section,
        key: section.name === "" ? valve.reference : `${valve.reference}.${section.name}`,
        facts,
        named,
        rectifier: facts?.kind === "rectifier" || at("plate1") !== undefined || at("plate2") !== undefined,
        plate: at("plate"),
        grid: at("grid"),
        screen: at("screen"),
        cathode: at("cathode"),
      });
    }
  }
  sections = found;
  kept.set(circuit, sections);
  return sections;
}

const byValve = new KeptWith<Circuit, ReadonlyMap<Valve, readonly Section[]>>();

/** The wired sections of one valve, in the file's order. */
export function sectionsOfValve(circuit: Circuit, valve: Valve): readonly Section[] {
  let map = byValve.get(circuit);
  if (!map) {
    const found = new Map<Valve, Section[]>();
    for (const section of sectionsOf(circuit)) {
      const list = found.get(section.valve);
      if (list) list.push(section);
      else found.set(section.valve, [section]);
    }
    map = found;
    byValve.set(circuit, map);
  }
  return map.get(valve) ?? [];
}

const amplifiers = new KeptWith<Circuit, readonly Section[]>();

export function amplifying(circuit: Circuit): readonly Section[] {
  let sections = amplifiers.get(circuit);
  if (!sections) {
    sections = sectionsOf(circuit).filter((section) => !section.rectifier);
    amplifiers.set(circuit, sections);
  }
  return sections;
}

export const rectifying = (circuit: Circuit): readonly Section[] =>
  sectionsOf(circuit).filter((section) => section.rectifier);

const onPlates = new KeptWith<Circuit, ReadonlyMap<NetIndex, readonly Section[]>>();

/** Amplifying sections whose plates are on the net, in the file's order; none on common, where unused ones are tied. */
export function sectionsOnPlate(circuit: Circuit, net: NetIndex): readonly Section[] {
  let byNet = onPlates.get(circuit);
  if (!byNet) {
    const found = new Map<NetIndex, Section[]>();
    for (const section of amplifying(circuit)) {
      if (section.plate === undefined || section.plate === circuit.ground) continue;
      const list = found.get(section.plate);
      if (list) list.push(section);
      else found.set(section.plate, [section]);
    }
    byNet = found;
    onPlates.set(circuit, byNet);
  }
  return byNet.get(net) ?? [];
}

export type FigureName = {
  [K in keyof ValveLimits]-?: ValveLimits[K] extends number | undefined ? K : never;
}[keyof ValveLimits];

/** A published limit of a section: its figure, and the block it stands in. */
export interface Rated {
  readonly value: number;
  readonly block: ValveLimits;
  /** "design-centre limit": what messages put before the figure. */
  readonly words: string;
}

/** The blocks that hold for a section as its type is written: the name's own first, then the type's. */
export function blocksOf({ named, section, facts }: Section): readonly ValveLimits[] {
  if (!facts) return [];
  const type = facts.sections.find((entry) => entry.name === section.name)?.limits ?? facts.limits;
  return named ? [named, type] : [type];
}

/** The first block that prints the figure; undefined where none does: unchecked, never passed. */
export function rated(section: Section, name: FigureName): Rated | undefined {
  for (const block of blocksOf(section)) {
    const value = block[name];
    if (value !== undefined) return { value, block, words: `${systemWords(block)} limit` };
  }
  return undefined;
}

/** Why a section has no such limit: its type's sheet prints none, or no data is held for the type at all. */
export const noLimit = ({ facts }: Section): string =>
  facts ? "no limit is published" : "no data is held for its type";

export const systemWords = (block: ValveLimits): string =>
  block.ratingSystem === "absolute" ? "absolute maximum" : (block.ratingSystem ?? "published");

/**
 * What a valve limit is held against, by its rating system (IEC 60134): design-centre at nominal mains with nominal parts;
 * design-maximum at high mains with the worst part values; absolute at the worst of everything. A block that names no
 * system is taken as design-centre.
 */
export function whereOf(block: ValveLimits): Where {
  switch (block.ratingSystem) {
    case "design-maximum":
      return DESIGN_MAXIMUM;
    case "absolute":
      return ABSOLUTE;
    default:
      return DESIGN_CENTRE;
  }
}

const DESIGN_MAXIMUM: Where = { levels: ["high"] };
const ABSOLUTE: Where = {};
const DESIGN_CENTRE: Where = { levels: ["nominal"], tolerance: "nominal" };

const sources = new KeptWith<ValveLimits, Map<string, string>>();

/** Source of a limit, for the finding. */
export function sourceOf(facts: ValveFacts | undefined, block: ValveLimits): string {
  let byType = sources.get(block);
  if (!byType) {
    byType = new Map();
    sources.set(block, byType);
  }
  const type = facts?.type ?? "valve";
  let source = byType.get(type);
  if (source === undefined) {
    source = `${type} sheet, ${block.source}${block.evidence === "memory" ? ", from memory" : ""}`;
    byType.set(type, source);
  }
  return source;
}

/** Where an electrode is written, or the section. */
export function electrodePlace({ section, valve }: Section, name?: string): Place {
  const place = name === undefined ? undefined : section.electrodePlaces.get(name);
  return place ?? (section.name === "" ? valve.referencePlace : section.place);
}
