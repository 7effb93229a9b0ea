/**
 * Syntax tree to circuit: names resolved across files, blocks, sections and terminals written elsewhere, facts read with
 * their defaults, and every slip told at its place. No physics, no files: included texts come from the host.
 */
import type { PartStatement, PathPart, PathStatement, Range, Tree, Word } from "../../grammar/tree.ts";
import { publishedBook, type ValveBook } from "../facts/valves/book.ts";
import { expand, type Placed, type ReadFile, type Sources } from "./expand.ts";
import { atOnce, type InSteps } from "./in-steps.ts";
import { kindOf } from "./kinds/index.ts";
import {
  type Building,
  type KindSpec,
  type RawPart,
  type ReadFacts,
  type Wiring,
  Wirings,
  wiringOf,
} from "./kinds/kind.ts";
import { ValveWriting } from "./kinds/valve.ts";
import type { Circuit, NetIndex, Part, PartBase, Place } from "./model.ts";
import { Nets } from "./nets.ts";
import { listed, type Problems, problem, withArticle } from "./problems.ts";
import { readFacts } from "./read-facts.ts";
import { fullReference, type Scope } from "./scope.ts";
import { Conditions } from "./statements.ts";
import { terminalsOf, wireBody } from "./wire.ts";

export interface Built {
  readonly circuit: Circuit;
  readonly sources: Sources;
}

/**
 * Builds the circuit of one netlist.
 * @param file key of the main text; included files are looked for beside it, and their parts have places in them
 * @param read gives the text of an included file, undefined where there is none
 * @param book the valve types that are known: the published ones when left out
 * @returns the circuit with its problems (those of the parser stay with each source's tree), and every source read
 * @throws never, for any tree
 */
export function buildCircuit(
  file: string,
  text: string,
  tree: Tree,
  read?: ReadFile,
  book: ValveBook = publishedBook,
): Built {
  return atOnce(buildCircuitInSteps(file, text, tree, read, book));
}

/** The same with stops, for a host that has others to answer while a text of thousands of parts is read. */
export function* buildCircuitInSteps(
  file: string,
  text: string,
  tree: Tree,
  read?: ReadFile,
  book: ValveBook = publishedBook,
): InSteps<Built> {
  const { placed, sources, problems, prefixes } = expand(file, text, tree, read);
  yield;
  const circuit = yield* new Assembly(placed, prefixes, problems, book).circuit([...sources.keys()]);
  return { circuit, sources };
}

/** Statements, words or parts from one stop to the next. */
const BETWEEN_STOPS = 256;

const nothing: readonly never[] = [];

class PartBuilding implements Building {
  constructor(
    readonly raw: RawPart,
    readonly base: PartBase,
    readonly facts: ReadFacts,
    readonly problems: Problems,
    readonly book: ValveBook,
  ) {}

  net(key: string): NetIndex | undefined {
    return this.base.terminals.get(key);
  }

  place(range: Range): Place {
    return { file: this.raw.scope.file, range };
  }
}

class Assembly {
  /** Parts in the order of the file; a valve stands where its first piece does. */
  private readonly order: (RawPart | string)[] = [];
  private readonly byReference = new Map<string, RawPart>();
  private readonly valves: ValveWriting;
  /** Every word that stands where a net may, in order. */
  private readonly written: Wiring[] = [];
  private unnamed = 0;
  /** The next number of a reference that is written again. */
  private readonly numbers = new Map<string, number>();

  constructor(
    private readonly placed: readonly Placed[],
    private readonly prefixes: ReadonlySet<string>,
    private readonly problems: Problems,
    private readonly book: ValveBook,
  ) {
    this.valves = new ValveWriting(book);
  }

  *circuit(files: readonly string[]): InSteps<Circuit> {
    let done = 0;
    for (const { statement, scope, nets } of this.placed) {
      if (++done % BETWEEN_STOPS === 0) yield;
      if (statement.node === "part") this.part(statement, scope);
      else if (statement.node === "path") this.path(statement, scope);
      else if (statement.node === "metal") this.write(statement.net, scope);
      else if (nets) for (const { word, scope: from } of nets) this.write(word, from);
    }
    yield;
    const parts = this.finishValves();
    yield;
    const nets = new Nets(this.byReference, this.prefixes, this.problems);
    const conditions = new Conditions(this.byReference, nets, this.problems);
    for (const wiring of this.written) {
      if (++done % BETWEEN_STOPS === 0) yield;
      nets.mention(wiring);
    }
    for (const placed of this.placed) conditions.read(placed);
    yield;
    const built: Part[] = [];
    for (const raw of parts) {
      if (++done % BETWEEN_STOPS === 0) yield;
      built.push(this.build(raw, nets));
    }
    const partByReference = new Map<string, Part>();
    for (const part of built) partByReference.set(part.reference, part);
    yield;
    const { name, ampPlace, mains, assumptions, metals, measurements, waivers } =
      conditions.finish(partByReference);
    const { nets: list, netByName } = nets.finish();
    // Field by field: a copy with `...` has a shape of its own each time, and all that reads circuits would be slower for it.
    return {
      name,
      ampPlace,
      mains,
      assumptions,
      metals,
      measurements,
      waivers,
      nets: list,
      netByName,
      ground: netByName.get("gnd"),
      chassis: netByName.get("chassis"),
      parts: built,
      partByReference,
      problems: this.problems,
      files,
      book: this.book === publishedBook ? undefined : this.book,
    };
  }

  // ── parts as written ─────────────────────────────────────────
  private write(word: Word, scope: Scope): Wiring {
    const wiring = wiringOf(word, scope);
    this.written.push(wiring);
    return wiring;
  }

  private writeBody(items: RawPart["items"], scope: Scope): readonly Wiring[] {
    if (items.length === 0) return nothing;
    const written: Wiring[] = [];
    for (const item of items) {
      for (const word of item.nets) written.push(this.write(word, scope));
      if (item.node === "row")
        for (const one of item.terminals) for (const word of one.nets) written.push(this.write(word, scope));
    }
    return written;
  }

  private part(statement: PartStatement, scope: Scope): void {
    const spec = kindOf(statement.kind.text);
    const items = statement.body?.items ?? nothing;
    const written = this.writeBody(items, scope);
    // An unknown kind was told by the parser.
    if (!spec) return;
    const place: Place = { file: scope.file, range: statement.range };
    const head = this.head(spec, statement.kind, statement.reference, scope);
    if (spec.kind === "valve") {
      const { reference, section } = this.valveReference(head.reference, statement.reference, scope);
      if (!this.valves.has(reference)) this.order.push(reference);
      this.valves.add({
        reference,
        section,
        unnamed: head.unnamed,
        referencePlace: head.referencePlace,
        scope,
        place,
        facts: statement.facts,
        items,
        written,
      });
      return;
    }
    const raw = rawPart(spec, head, scope, place, statement.facts, items, written);
    if (spec.wire) spec.wire(raw, this.problems);
    else {
      wireBody(raw, terminalsOf(raw), this.problems);
      for (const item of items) if (item.node === "row") this.strayRow(raw, item.name);
    }
    this.keep(raw);
  }

  private path({ nets, parts }: PathStatement, scope: Scope): void {
    const written = nets.map((word) => this.write(word, scope));
    parts.forEach((part, index) => {
      const spec = kindOf(part.kind.text);
      if (!spec) return;
      if (!spec.path) {
        this.noPathPart(spec, part, scope);
        return;
      }
      const head = this.head(spec, part.kind, part.reference, scope);
      const place: Place = { file: scope.file, range: part.range };
      const raw = rawPart(spec, head, scope, place, part.facts, nothing, nothing);
      const [first, second] = terminalsOf(raw);
      const left = written[index];
      const right = written[index + 1];
      if (left) raw.wiring.set(first.name, left);
      if (right) raw.wiring.set(second.name, right);
      this.keep(raw);
    });
  }

  /** Told, and kept without nets where it stands alone, so that its own facts are still read. */
  private noPathPart(spec: KindSpec, part: PathPart, scope: Scope): void {
    const head = this.head(spec, part.kind, part.reference, scope);
    const names = spec.terminals.slice(0, 4).map((one) => one.name);
    const how =
      names.length > 0
        ? `write its terminals in a block, ${spec.kind} ${head.unnamed ? "X1" : head.reference} { ${names.map((name) => `${name}: …`).join(", ")} }`
        : `write it in a statement of its own, such as ${spec.example}`;
    this.problems.push(
      problem(
        "circuit/syntax",
        `${capital(withArticle(spec.kind))} has no left and right end, so it cannot stand in a path: ${how}.`,
        scope.file,
        part.kind.range,
        [head.reference],
      ),
    );
    const place = { file: scope.file, range: part.range };
    if (spec.kind === "valve") {
      const { reference, section } = this.valveReference(head.reference, part.reference, scope);
      if (!this.valves.has(reference)) this.order.push(reference);
      this.valves.add({
        reference,
        section,
        unnamed: head.unnamed,
        referencePlace: head.referencePlace,
        scope,
        place,
        facts: part.facts,
        items: nothing,
        written: nothing,
      });
      return;
    }
    this.keep(rawPart(spec, head, scope, place, part.facts, nothing, nothing));
  }

  private head(spec: KindSpec, kind: Word, reference: Word | undefined, scope: Scope): Head {
    if (!reference) {
      this.unnamed++;
      const letter = spec.kind === "bond" ? "E" : spec.kind === "wire" ? "W" : spec.kind;
      return {
        reference: `${scope.prefix}${letter}#${this.unnamed}`,
        unnamed: true,
        referencePlace: { file: scope.file, range: kind.range },
      };
    }
    const { prefix, text } = fullReference(reference.text, scope);
    return {
      reference: prefix + text,
      unnamed: false,
      referencePlace: { file: scope.file, range: reference.range },
    };
  }

  /** `V1.a` is section a of V1; so is `v` in a block that V1.a is passed to. */
  private valveReference(
    full: string,
    written: Word | undefined,
    scope: Scope,
  ): { readonly reference: string; readonly section?: string } {
    if (!written) return { reference: full };
    const { prefix, text } = fullReference(written.text, scope);
    const dot = text.lastIndexOf(".");
    if (dot < 0) return { reference: full };
    // `N.V1` passed to a stage, or written from outside, is a whole valve of the stage N.
    if (this.prefixes.has(prefix + text.slice(0, dot))) return { reference: full };
    return { reference: prefix + text.slice(0, dot), section: text.slice(dot + 1) };
  }

  private keep(raw: RawPart): void {
    const first = this.byReference.get(raw.reference);
    if (!first) {
      this.byReference.set(raw.reference, raw);
      this.order.push(raw);
      return;
    }
    this.tellTwice(raw, first);
    this.order.push(this.numbered(raw));
  }

  /** The same part under a reference that is free: `R1#2`. */
  private numbered(raw: RawPart): RawPart {
    // Where the last one left off: a file of one reference alone must not be looked through for each of its parts.
    let number = this.numbers.get(raw.reference) ?? 2;
    while (this.byReference.has(`${raw.reference}#${number}`)) number++;
    this.numbers.set(raw.reference, number + 1);
    const second: RawPart = Object.assign({}, raw, { reference: `${raw.reference}#${number}` });
    this.byReference.set(second.reference, second);
    return second;
  }

  private tellTwice(raw: RawPart, first: RawPart): void {
    const { file, range } = raw.referencePlace;
    this.problems.push(
      problem(
        "circuit/duplicate-reference",
        `${raw.reference} is ${withArticle(first.spec.kind)} already. Give this ${raw.spec.kind} a reference of its own.`,
        file,
        range,
        [raw.reference],
        { related: [{ message: "the first one", place: first.referencePlace, on: raw.reference }] },
      ),
    );
  }

  private strayRow(raw: RawPart, name: Word): void {
    this.problems.push(
      problem(
        "circuit/unknown-terminal",
        `${raw.reference}: ${withArticle(raw.spec.kind)} has no row called ${name.text}. Its terminals are ${listed(raw.spec.terminals.map((one) => one.name))}.`,
        raw.scope.file,
        name.range,
        [raw.reference],
      ),
    );
  }

  private finishValves(): RawPart[] {
    const parts: RawPart[] = [];
    for (const entry of this.order) {
      if (typeof entry !== "string") {
        parts.push(entry);
        continue;
      }
      for (const raw of this.valves.finish(entry, this.problems)) {
        const first = this.byReference.get(raw.reference);
        if (first) this.tellTwice(raw, first);
        else this.byReference.set(raw.reference, raw);
        parts.push(first ? this.numbered(raw) : raw);
      }
    }
    return parts;
  }

  // ── parts as they are ────────────────────────────────────────
  private build(raw: RawPart, nets: Nets): Part {
    const terminals = new Map<string, NetIndex>();
    const terminalPlaces = new Map<string, Place>();
    const add = (key: string) => {
      const net = nets.terminal(raw, key);
      if (net === undefined) return;
      terminals.set(key, net);
      const wiring = raw.wiring.get(key);
      terminalPlaces.set(key, wiring?.place ?? raw.referencePlace);
    };
    // The kind's own order where it has one, so that a path's left end comes first however the block was written.
    for (const { name } of terminalsOf(raw)) add(name);
    // A kind that wires its own body has keys besides (`ht.1`, `a.plate`).
    if (raw.spec.wire || raw.spec.kind === "valve")
      for (const key of raw.wiring.keys()) if (!terminals.has(key)) add(key);
    if (raw.fresh) for (const key of raw.fresh.keys()) if (!terminals.has(key)) add(key);
    const facts = readFacts(
      raw.spec.facts,
      raw.facts,
      { reference: raw.reference, kind: raw.spec.kind, file: raw.scope.file },
      this.problems,
    );
    const base: PartBase = {
      reference: raw.reference,
      unnamed: raw.unnamed || undefined,
      place: raw.place,
      referencePlace: raw.referencePlace,
      terminals,
      factPlaces: facts.places,
      terminalPlaces,
    };
    return raw.spec.build(new PartBuilding(raw, base, facts, this.problems, this.book));
  }
}

type Head = Pick<RawPart, "reference" | "unnamed" | "referencePlace">;

function rawPart(
  spec: KindSpec,
  head: Head,
  scope: Scope,
  place: Place,
  facts: RawPart["facts"],
  items: RawPart["items"],
  written: readonly Wiring[],
): RawPart {
  const { reference, unnamed, referencePlace } = head;
  return {
    spec,
    reference,
    unnamed,
    referencePlace,
    scope,
    place,
    facts,
    items,
    written,
    wiring: new Wirings(),
    fresh: undefined,
  };
}

function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}
