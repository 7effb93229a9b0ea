/**
 * Valves. One valve may be written in pieces: sections on their own (`valve V1.a ECC83 { … }`), its heater elsewhere.
 * `ValveWriting` gathers the pieces; `valve` is the kind.
 */

import type { ValveBook } from "../../facts/valves/book.ts";
import type { ValveFacts, ValveSectionFacts } from "../../facts/valves/index.ts";
import { sectionMeant } from "../../facts/valves/sections.ts";
import type { NetIndex, Place, Valve, ValveSection } from "../model.ts";
import { letters, listed, near, type Problems, problem } from "../problems.ts";
import type { Scope } from "../scope.ts";
import { terminalOf, unknownTerminal, wireOne } from "../wire.ts";
import { made } from "./common.ts";
import {
  type Fact,
  type KindSpec,
  type RawPart,
  type RowItem,
  type TerminalItem,
  type TerminalSpec,
  type Wiring,
  Wirings,
  type Word,
} from "./kind.ts";

const electrodes: readonly TerminalSpec[] = [
  { name: "plate", aliases: ["anode"], description: "the anode" },
  { name: "grid", aliases: ["g1", "control-grid"], description: "the control grid" },
  { name: "screen", aliases: ["g2", "screen-grid"], description: "the second grid" },
  { name: "suppressor", aliases: ["g3", "suppressor-grid"], description: "the third grid" },
  { name: "cathode", aliases: ["k"], description: "the cathode" },
];
const diodes: readonly TerminalSpec[] = [
  { name: "diode1", aliases: ["d1", "diode-1"], description: "the plate of the first detector diode" },
  { name: "diode2", aliases: ["d2", "diode-2"], description: "the plate of the second detector diode" },
];
const rectifierElectrodes: readonly TerminalSpec[] = [
  { name: "plate1", aliases: ["anode1", "a1", "plate-1"], description: "the first anode" },
  { name: "plate2", aliases: ["anode2", "a2", "plate-2"], description: "the second anode" },
  { name: "cathode", aliases: ["k"], description: "the cathode: where the supply comes out" },
];
const everyElectrode = [...electrodes, ...rectifierElectrodes.slice(0, 2), ...diodes];
const heaterWords = new Set(["heater", "filament"]);

/** A valve being gathered. */
export interface RawValve extends RawPart {
  typeWord?: { readonly word: Word; readonly file: string };
  known?: ValveFacts;
  readonly sections: Map<string, { readonly name: string; readonly place: Place }>;
  heater?: {
    readonly items: TerminalItem;
    readonly scope: Scope;
    readonly wiring?: "series" | "parallel";
    readonly place: Place;
  };
}

export const valve: KindSpec = {
  kind: "valve",
  description:
    "A valve, rectifier valves too. A twin valve's sections are blocks a and b, a triode-pentode's triode and pentode.",
  example: "valve V3 EL84 { plate: pA, screen: HT2, grid: gA, cathode: kO, heater: h1 h2 }",
  terminals: [
    ...everyElectrode,
    { name: "heater", aliases: ["filament"], description: "two nets, the heater's ends" },
  ],
  path: false,
  facts: { numbers: [], words: {}, type: { example: "ECC83", required: true } },
  limits: [
    "plate and screen dissipation",
    "plate and screen voltage",
    "cathode current",
    "heater voltage",
    "heater to cathode voltage",
    "resistance in the grid circuit",
  ],
  terminalKey(raw, pieces) {
    const written = raw as RawValve;
    const names = sectionNames(written);
    const [first, second, third] = pieces;
    if (heaterWords.has(first)) {
      return pieces.length === 2 && (second === "1" || second === "2") ? `heater.${second}` : undefined;
    }
    if (pieces.length === 1) {
      const name = names.includes("") ? electrodeOf(written, "", first) : undefined;
      return name === "cathode" && isFilamentAlone(written) ? "heater.1" : name;
    }
    if (pieces.length !== 2 || third !== undefined) return undefined;
    if (heaterWords.has(second)) return undefined;
    const section = sectionMeant(names, first);
    const name = section === undefined ? undefined : electrodeOf(written, section, second);
    return name && `${section}.${name}`;
  },
  terminalNames(raw) {
    const written = raw as RawValve;
    return [
      ...sectionNames(written).flatMap((section) =>
        electrodesOf(written, section).map((one) => (section === "" ? one.name : `${section}.${one.name}`)),
      ),
      "heater.1",
      "heater.2",
    ];
  },
  build(building) {
    const { base, raw } = building;
    const written = raw as RawValve;
    const sections = new Map<
      string,
      { electrodes: Map<string, NetIndex>; places: Map<string, Place>; place: Place }
    >();
    for (const [name, { place }] of written.sections) {
      sections.set(name, { electrodes: new Map(), places: new Map(), place });
    }
    for (const [key, index] of base.terminals) {
      if (key.startsWith("heater.")) continue;
      const dot = key.indexOf(".");
      const name = dot < 0 ? "" : key.slice(0, dot);
      let section = sections.get(name);
      if (!section) {
        section = { electrodes: new Map(), places: new Map(), place: raw.place };
        sections.set(name, section);
      }
      const electrode = key.slice(dot + 1);
      section.electrodes.set(electrode, index);
      const place = base.terminalPlaces.get(key);
      if (place) section.places.set(electrode, place);
    }
    const filament = building.net("heater.1");
    if (isFilamentAlone(written) && filament !== undefined) {
      const section = sections.get("");
      if (section) {
        const end = building.place(written.heater?.items.nets[0]?.range ?? raw.referencePlace.range);
        section.electrodes.set("cathode", filament);
        section.places.set("cathode", end);
        // Which end feeds the supply has to be said; an amplifying valve's current comes by both.
        if (written.known?.kind === "rectifier") building.problems.push(filamentAlone(written, building.raw));
      }
    }
    const order = written.known?.sections.map((one) => one.name) ?? [];
    const rank = (name: string) => (order.includes(name) ? order.indexOf(name) : order.length);
    const list: ValveSection[] = [...sections]
      .sort(([one], [other]) => rank(one) - rank(other))
      .map(([name, section]) => ({
        name,
        electrodes: section.electrodes,
        electrodePlaces: section.places,
        place: section.place,
      }));
    const first = building.net("heater.1");
    const second = building.net("heater.2");
    const heater = written.heater;
    const typeWord = written.typeWord;
    const typePlace = typeWord && { file: typeWord.file, range: typeWord.word.range };
    if (typePlace) Object.assign(base, { factPlaces: new Map([["type", typePlace]]) });
    return made<Valve>(base, {
      kind: "valve",
      typeWritten: typeWord?.word.text ?? "",
      type: written.known?.type,
      sections: list,
      heater:
        first === undefined || second === undefined
          ? undefined
          : { nets: [first, second], wiring: heater?.wiring, place: heater?.place ?? raw.place },
    });
  },
};

/** A directly heated valve with no cathode written: its filament is its cathode. */
const isFilamentAlone = ({ known, wiring }: RawValve): boolean =>
  known?.heating === "direct" && wiring.get("cathode") === undefined;

/** Told, not left in the air: without a cathode the supply would give nothing, and nothing behind it would be checked. */
function filamentAlone({ reference, heater, typeWord }: RawValve, { referencePlace }: RawPart) {
  const end = heater?.items.nets[0]?.text ?? "its first end";
  return problem(
    "circuit/unconnected",
    `${reference} has no cathode written. ${typeWord ? `The ${typeWord.word.text}` : "It"} is directly heated, its filament is its cathode: ` +
      `taken at ${end}. Write cathode: and the end that feeds the supply.`,
    referencePlace.file,
    referencePlace.range,
    [reference],
  );
}

const electrodesOfSection = new WeakMap<ValveSectionFacts, readonly TerminalSpec[]>();

function electrodesOf(raw: RawValve, section: string): readonly TerminalSpec[] {
  const facts = raw.known;
  if (facts?.kind === "rectifier") return rectifierElectrodes;
  const made = facts?.sections.find((one) => one.name === section);
  if (!made) return everyElectrode;
  let known = electrodesOfSection.get(made);
  if (!known) {
    const own = new Set(made.electrodes);
    // Of a directly heated valve that is an end of its filament.
    if (facts?.heating === "direct") own.add("cathode");
    known = [
      // A suppressor that is joined to the cathode inside has no pin; drawings name it all the same.
      ...electrodes.filter((one) => own.has(one.name) || (one.name === "suppressor" && own.has("screen"))),
      ...diodes.filter((one) => own.has(one.name)),
    ];
    electrodesOfSection.set(made, known);
  }
  return known;
}

function electrodeOf(raw: RawValve, section: string, word: string): string | undefined {
  return terminalOf(word, electrodesOf(raw, section))?.name;
}

/** Names of the sections that the type has, else of those written, or that may be; `""` alone for a valve with one. */
function sectionNames(raw: RawValve): readonly string[] {
  if (raw.known) return raw.known.sections.map((one) => one.name);
  const written = [...raw.sections.keys()];
  return written.length > 0 ? [...new Set([...written, ""])] : ["", "a", "b"];
}

/** One `valve` statement. */
export interface ValvePiece {
  readonly reference: string;
  /** From `V1.a`. */
  readonly section?: string;
  readonly unnamed: boolean;
  readonly scope: Scope;
  readonly place: Place;
  readonly referencePlace: Place;
  readonly facts: readonly Fact[];
  readonly items: readonly (TerminalItem | RowItem)[];
  readonly written: readonly Wiring[];
}

/** Gathers the pieces of valves, in any order. */
export class ValveWriting {
  private readonly pieces = new Map<string, ValvePiece[]>();

  constructor(private readonly book: ValveBook) {}

  add(piece: ValvePiece): void {
    const known = this.pieces.get(piece.reference);
    if (known) known.push(piece);
    else this.pieces.set(piece.reference, [piece]);
  }

  has(reference: string): boolean {
    return this.pieces.has(reference);
  }

  /**
   * The valve of a reference, wired. Pieces that say again what is said already make a valve of their own, numbered
   * (`V3#2`), and are told: two bottles with one name are a slip of the name, not of the wiring.
   */
  finish(reference: string, problems: Problems): readonly RawValve[] {
    const valves: { raw: RawValve; pieces: ValvePiece[]; taken: Set<string> }[] = [];
    const first = new Map<string, number>();
    for (const piece of this.pieces.get(reference) ?? []) {
      const says = whatItSays(piece);
      // The first valve that says none of it; all before it are known to say some.
      const key = `${says.join(" ")} of ${typeOf(piece) ?? ""}`;
      let nth = first.get(key) ?? 0;
      while (
        nth < valves.length &&
        (says.some((what) => valves[nth].taken.has(what)) || this.isAnother(piece, says, valves[nth]))
      )
        nth++;
      first.set(key, nth);
      let into = valves.at(nth);
      if (!into) {
        const number = valves.length + 1;
        into = {
          raw: emptyValve(piece, number === 1 ? reference : `${reference}#${number}`),
          pieces: [],
          taken: new Set(),
        };
        if (number > 1) tellTwice(piece, valves[0].pieces[0], problems);
        valves.push(into);
      }
      into.pieces.push(piece);
      for (const what of says) into.taken.add(what);
    }
    for (const { raw, pieces } of valves) {
      for (const piece of pieces) readType(raw, piece, this.book, problems);
      // A section that was written twice is told as that, and is of the type that the valve has.
      raw.typeWord ??= valves[0].raw.typeWord;
      if (!raw.typeWord) {
        problems.push(
          problem(
            "circuit/unknown-type",
            this.book.find(raw.reference)
              ? `${raw.reference} is a type: a valve needs a reference before it, such as valve V1 ${raw.reference}.`
              : `${raw.reference} has no type: write one behind its reference, such as valve ${raw.reference} ECC83.`,
            raw.scope.file,
            raw.referencePlace.range,
            [raw.reference],
          ),
        );
      }
      for (const piece of pieces) wirePiece(raw, piece, problems);
    }
    return valves.map(({ raw }) => raw);
  }

  /** A valve of one section where the file has one of two, or the other way round: no piece of it, but another valve of its name. */
  private isAnother(
    piece: ValvePiece,
    says: readonly string[],
    { pieces, taken }: { readonly pieces: readonly ValvePiece[]; readonly taken: ReadonlySet<string> },
  ): boolean {
    if (says.length === 0 || taken.size === 0 || says.includes("") === taken.has("")) return false;
    const own = this.book.find(typeOf(piece) ?? "");
    const others = pieces.map((other) => this.book.find(typeOf(other) ?? ""));
    return own !== undefined && others.some((other) => other !== undefined && other !== own);
  }
}

const typeOf = (piece: ValvePiece): string | undefined => piece.facts[0]?.text;

/** Sections that a piece wires: what no second piece may say again. */
function whatItSays(piece: ValvePiece): readonly string[] {
  const sections = new Set<string>();
  for (const item of piece.items) {
    if (item.node === "row") sections.add(item.name.text);
    else if (!heaterWords.has(item.terminal.text)) sections.add(piece.section ?? "");
  }
  return [...sections];
}

function emptyValve(piece: ValvePiece, reference: string): RawValve {
  const { scope, place, referencePlace, unnamed } = piece;
  return {
    spec: valve,
    reference,
    unnamed,
    scope,
    place,
    referencePlace,
    facts: [],
    items: [],
    written: [],
    wiring: new Wirings(),
    fresh: undefined,
    sections: new Map(),
  };
}

function tellTwice(piece: ValvePiece, first: ValvePiece, problems: Problems): void {
  const name = piece.section === undefined ? piece.reference : `${piece.reference}.${piece.section}`;
  problems.push(
    problem(
      "circuit/duplicate-reference",
      `${name} is written twice. Give this one a reference of its own.`,
      piece.referencePlace.file,
      piece.referencePlace.range,
      [piece.reference],
      { related: [{ message: "the first one", place: first.referencePlace, on: piece.reference }] },
    ),
  );
}

function readType(raw: RawValve, piece: ValvePiece, book: ValveBook, problems: Problems): void {
  const file = piece.scope.file;
  piece.facts.forEach((fact, index) => {
    const word = { text: fact.text, range: fact.range };
    if (index > 0) {
      problems.push(
        problem(
          "circuit/unknown-fact",
          `${raw.reference}: ${fact.text} is no fact of a valve: all that a valve needs is its type, and its limits are looked up by it.`,
          file,
          fact.range,
          [raw.reference],
        ),
      );
      return;
    }
    const facts = book.find(word.text);
    if (!raw.typeWord) {
      raw.typeWord = { word, file };
      raw.known = facts;
      if (!facts) tellType(raw, word, file, book, problems);
      return;
    }
    if (raw.typeWord.word.text === word.text || (facts && facts === raw.known)) return;
    problems.push(
      problem(
        "circuit/unknown-type",
        `${raw.reference} is ${withTypeArticle(raw.typeWord.word.text)} where it is first written and ${withTypeArticle(word.text)} here.`,
        file,
        fact.range,
        [raw.reference],
        {
          related: [
            {
              message: "its type",
              place: { file: raw.typeWord.file, range: raw.typeWord.word.range },
              on: raw.reference,
            },
          ],
        },
      ),
    );
  });
}

function withTypeArticle(type: string): string {
  return /^[AEFHILMNORSX8]/.test(type) ? `an ${type}` : `a ${type}`;
}

/** Codes of receiving valves: in the European one the letters behind the first say the kind of each system, in order. */
const EUROPEAN = /^[A-Z]([A-Z]{1,3})\d{2,3}S?$/;
const AMERICAN = /^\d{1,2}[A-Z]{1,2}\d{1,2}[A-Z]*$/;

/**
 * Whether a name may be meant by a word that no data is held for. A word that is no code is a slip for whatever is near. One that is
 * may be a type of its own: of the European code only those of the same kinds are near it (an EM84 is no EL84, but an indicator), and
 * of the American, which doesn't tell the kind, only those of the same letters, or with one more or less.
 */
function isSlipFor(word: string): (name: string) => boolean {
  const kinds = EUROPEAN.exec(word)?.[1];
  if (kinds !== undefined) return (name) => EUROPEAN.exec(name)?.[1] === kinds;
  if (AMERICAN.test(word)) return (name) => name.length !== word.length || letters(name) === letters(word);
  return () => true;
}

function tellType(raw: RawValve, word: Word, file: string, book: ValveBook, problems: Problems): void {
  const place = { file, range: word.range };
  const { sentence: close, fix } = near(word.text, book.names().filter(isSlipFor(word.text)).sort(), place);
  // One letter or figure for another makes a type of its own more often than a slip: ECL82 is no ECC82.
  const another = fix?.text.length === word.text.length && letters(fix.text) !== letters(word.text);
  const sentence = another ? `${close} Only if it is a slip: another type has other limits.` : close;
  problems.push(
    problem(
      "circuit/unknown-type",
      `${raw.reference}: no data is held for ${withTypeArticle(word.text)}, so none of its limits can be checked and its currents are not computed.${sentence}`,
      file,
      word.range,
      [raw.reference],
      { fix: another ? undefined : fix },
    ),
  );
}

function wirePiece(raw: RawValve, piece: ValvePiece, problems: Problems): void {
  // Wiring is told where it was written, whichever piece that was.
  const here: RawPart = Object.assign({}, raw, { scope: piece.scope, written: piece.written });
  const whole = piece.items.filter((item): item is TerminalItem => item.node === "terminal");
  const flat = whole.filter((item) => !heaterWords.has(item.terminal.text));
  if (flat.length > 0 || piece.section !== undefined) {
    wireSection(
      raw,
      here,
      piece,
      piece.section ?? "",
      flat,
      piece.place,
      piece.referencePlace.range,
      problems,
    );
  }
  for (const item of whole)
    if (heaterWords.has(item.terminal.text)) wireHeater(raw, here, piece, item, problems);
  for (const item of piece.items) {
    if (item.node !== "row") continue;
    if (piece.section !== undefined) {
      problems.push(
        problem(
          "circuit/unknown-terminal",
          `${raw.reference}.${piece.section} is a section already, so it has none called ${item.name.text}.`,
          piece.scope.file,
          item.name.range,
          [raw.reference],
        ),
      );
      continue;
    }
    const own = item.terminals.filter((one) => !heaterWords.has(one.terminal.text));
    for (const one of item.terminals)
      if (heaterWords.has(one.terminal.text)) wireHeater(raw, here, piece, one, problems);
    const place = { file: piece.scope.file, range: item.range };
    wireSection(raw, here, piece, item.name.text, own, place, item.name.range, problems);
  }
}

function wireSection(
  raw: RawValve,
  here: RawPart,
  piece: ValvePiece,
  written: string,
  items: readonly TerminalItem[],
  place: Place,
  range: { readonly start: number; readonly end: number },
  problems: Problems,
): void {
  const names = raw.known?.sections.map((one) => one.name);
  const meant = names ? sectionMeant(names, written) : written;
  let section = meant ?? written;
  if (names && meant === undefined) {
    const type = raw.typeWord!.word.text;
    const single = names.length === 1;
    // A lone section, or one without its name, can only be taken for the first that has such electrodes.
    const fits = (name: string) =>
      items.every((item) => terminalOf(item.terminal.text, electrodesOf(raw, name)) !== undefined);
    section = single || written === "" ? (names.find(fits) ?? names[0]) : written;
    const message = single
      ? `${raw.reference}: ${withTypeArticle(type)} has one section, so its terminals stand in its block without ${written}.`
      : `${raw.reference}: ${withTypeArticle(type)} has sections ${listed(names)}: write ${names.includes(section) ? section : names[0]} { plate: … }${written === "" ? "" : `, not ${written}`}.`;
    problems.push(problem("circuit/unknown-terminal", message, piece.scope.file, range, [raw.reference]));
    if (!names.includes(section)) return;
  }
  if (!raw.sections.has(section)) raw.sections.set(section, { name: section, place });
  const wired = electrodesOf(raw, section);
  for (const item of items) {
    const word = item.terminal.text;
    const terminal =
      terminalOf(word, wired) ??
      // A rectifier's one plate, where only one is used.
      (wired === rectifierElectrodes && ["plate", "anode"].includes(word)
        ? rectifierElectrodes[0]
        : undefined);
    if (!terminal) {
      const type = raw.typeWord?.word.text;
      const owner = names?.find((name) => terminalOf(word, electrodesOf(raw, name)) !== undefined);
      if (type && names && owner !== undefined) {
        const said = names.map((name, index) => `${"ab"[index]} is its ${name}`).join(", ");
        const message = `${raw.reference}: the ${section} of ${withTypeArticle(type)} has no ${word}, its ${owner} has: ${said}.`;
        const { scope, reference } = here;
        problems.push(
          problem("circuit/unknown-terminal", message, scope.file, item.terminal.range, [reference]),
        );
        continue;
      }
      unknownTerminal(
        here,
        item.terminal,
        [...wired.map((one) => one.name), "heater"],
        problems,
        type ? ownerWords(raw, section, type) : "a valve",
      );
      continue;
    }
    if (item.facts.length > 0) {
      problems.push(
        problem(
          "circuit/unknown-fact",
          `${raw.reference}: ${item.facts[0].text} cannot stand behind the ${word}'s net.`,
          piece.scope.file,
          item.facts[0].range,
          [raw.reference],
        ),
      );
    }
    wireOne(
      here,
      section === "" ? terminal.name : `${section}.${terminal.name}`,
      item.terminal,
      item.nets[0],
      problems,
    );
  }
}

/** "an EL84", "the triode of an ECL82": whose electrodes are looked through. */
function ownerWords(raw: RawValve, section: string, type: string): string {
  const whole = withTypeArticle(type);
  return raw.known?.kind === "triode-pentode" ? `the ${section} of ${whole}` : whole;
}

function wireHeater(
  raw: RawValve,
  here: RawPart,
  piece: ValvePiece,
  item: TerminalItem,
  problems: Problems,
): void {
  const file = piece.scope.file;
  const tell = (rule: string, message: string, range = item.range) =>
    problems.push(problem(rule, `${raw.reference}: ${message}`, file, range, [raw.reference]));
  if (item.nets.length !== 2) {
    tell(
      "circuit/unknown-terminal",
      `a heater has two ends, heater: h1 h2, and ${item.nets.length === 1 ? "one net is" : `${item.nets.length} nets are`} written.`,
    );
    if (item.nets.length < 2) return;
  }
  const before = [raw.wiring.get("heater.1"), raw.wiring.get("heater.2")];
  if (before[0] && before[1]) {
    const same = before.every(
      (one, index) => one!.word.text === item.nets[index].text && one!.scope.prefix === piece.scope.prefix,
    );
    if (!same) {
      problems.push(
        problem(
          "circuit/duplicate-reference",
          `The heater of ${raw.reference} is wired already.`,
          file,
          item.range,
          [raw.reference],
          {
            related: [
              {
                message: "wired here first",
                place: before[0].place,
                on: raw.reference,
              },
            ],
          },
        ),
      );
    }
    return;
  }
  const wiring = readHeaterWord(raw, item, tell);
  raw.heater = { items: item, scope: piece.scope, wiring, place: { file, range: item.range } };
  wireOne(here, "heater.1", item.terminal, item.nets[0], problems);
  wireOne(here, "heater.2", item.terminal, item.nets[1], problems);
}

function readHeaterWord(
  raw: RawValve,
  item: TerminalItem,
  tell: (rule: string, message: string, range?: TerminalItem["range"]) => void,
): "series" | "parallel" | undefined {
  let wiring: "series" | "parallel" | undefined;
  for (const fact of item.facts) {
    if (fact.text !== "series" && fact.text !== "parallel") {
      tell(
        "circuit/unknown-fact",
        `${fact.text} cannot stand behind the heater's nets: series or parallel may.`,
        fact.range,
      );
      continue;
    }
    const offered = raw.known?.heater.map((one) => one.name);
    if (offered && !offered.includes(fact.text)) {
      tell(
        "circuit/unknown-fact",
        `the heater of ${withTypeArticle(raw.typeWord!.word.text)} has two ends only, so it is neither in series nor in parallel.`,
        fact.range,
      );
      continue;
    }
    wiring = fact.text;
  }
  return wiring;
}
