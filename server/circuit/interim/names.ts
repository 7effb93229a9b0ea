/** From words to nets: plain names, and terminals of parts (`V1.a.plate`) that stand wherever a net may. */
import type { PartStatement, PathPart, Word } from "../../../grammar/tree.ts";
import type { Placed, Scope } from "./expand.ts";
import { nameIn } from "./expand.ts";
import type { KindDefinition } from "./kind.ts";
import { kindDefinitions } from "./kinds/index.ts";
import type { Net, NetIndex, Place } from "../model.ts";

/** A part's statement, with its words in circuit-wide names, before any net is counted. */
export interface PlacedPart {
  readonly statement: PartStatement | PathPart;
  readonly definition?: KindDefinition;
  readonly file: string;
  readonly scope: Scope;
  /** Circuit-wide; of a valve section without the section. */
  readonly reference: string;
  /** Section that the whole statement speaks of (`valve V1.a …`). */
  readonly section?: string;
  readonly unnamed: boolean;
  /** Nets of a path, left and right. */
  readonly pathNets?: readonly [Word, Word];
}

/** Terminal of a part by its written word: the kind's own word for it. */
export function terminalName(definition: KindDefinition | undefined, written: string): string {
  const own = Object.hasOwn(definition?.aliases ?? {}, written) ? definition?.aliases?.[written] : undefined;
  return own ?? written;
}

export class NetNames {
  readonly #written = new Map<string, { readonly word: Word; readonly scope: Scope; readonly file: string }>();
  readonly #nets: { index: number; name: string; mentions: Place[] }[] = [];
  readonly #byName = new Map<string, NetIndex>();
  readonly #references: ReadonlySet<string>;

  constructor(parts: readonly PlacedPart[]) {
    this.#references = new Set(parts.map(({ reference }) => reference));
    for (const part of parts) this.#note(part);
  }

  #note(part: PlacedPart): void {
    const { statement, definition, scope, file, reference } = part;
    const note = (terminal: string, word: Word) => {
      const key = `${reference}.${terminal}`;
      if (!this.#written.has(key)) this.#written.set(key, { word, scope, file });
    };
    if (part.pathNets && definition) {
      const [first, second] = definition.path;
      if (first) note(first, part.pathNets[0]);
      if (second) note(second, part.pathNets[1]);
    }
    if (!("body" in statement) || !statement.body) return;
    const prefix = part.section ? `${part.section}.` : "";
    for (const item of statement.body.items) {
      if (item.node === "terminal") {
        const terminal = terminalName(definition, item.terminal.text);
        if (item.nets.length === 1 && item.nets[0]) note(`${prefix}${terminal}`, item.nets[0]);
        else item.nets.forEach((word, index) => note(`${terminal}.${index + 1}`, word));
      } else {
        item.nets.forEach((word, index) => note(`${item.name.text}.${index + 1}`, word));
        for (const terminal of item.terminals) {
          if (terminal.nets[0]) note(`${item.name.text}.${terminalName(definition, terminal.terminal.text)}`, terminal.nets[0]);
        }
      }
    }
  }

  /** The kind's own spelling of `V1.a.anode`, and whether its part is there. */
  #terminalKey(name: string, parts: ReadonlyMap<string, KindDefinition | undefined>): string | undefined {
    for (let dot = name.lastIndexOf("."); dot > 0; dot = name.lastIndexOf(".", dot - 1)) {
      const reference = name.slice(0, dot);
      if (!this.#references.has(reference)) continue;
      const pieces = name.slice(dot + 1).split(".");
      pieces[pieces.length - 1] = terminalName(parts.get(reference), pieces[pieces.length - 1]);
      return `${reference}.${pieces.join(".")}`;
    }
    return undefined;
  }

  readonly #definitions = new Map<string, KindDefinition | undefined>();
  define(reference: string, definition: KindDefinition | undefined): void {
    this.#definitions.set(reference, definition);
  }

  /** The net that a word means in a scope; the mention is counted. */
  net(word: Word, scope: Scope, file: string): NetIndex {
    return this.mention(nameIn(scope, word.text), { file, range: word.range });
  }

  /** The same for a circuit-wide name. */
  mention(name: string, place: Place): NetIndex {
    const index = this.#indexOf(this.#settle(name, 0));
    this.#nets[index].mentions.push(place);
    return index;
  }

  /** Follows terminals to the net written at them. A ring of terminals that name one another is one net. */
  #settle(name: string, depth: number): string {
    if (!name.includes(".") || depth > 32) return name;
    const key = this.#terminalKey(name, this.#definitions);
    if (key === undefined) return name;
    const written = this.#written.get(key);
    if (written === undefined) return key;
    const next = nameIn(written.scope, written.word.text);
    return next === name || next === key ? key : this.#settle(next, depth + 1);
  }

  #indexOf(name: string): NetIndex {
    let index = this.#byName.get(name);
    if (index === undefined) {
      index = this.#nets.length;
      this.#byName.set(name, index);
      this.#nets.push({ index, name, mentions: [] });
    }
    return index;
  }

  /** Whether the name, dotted, speaks of a terminal of a known part. */
  terminalOf(name: string): { readonly reference: string; readonly terminal: string } | undefined {
    const key = this.#terminalKey(name, this.#definitions);
    if (key === undefined) return undefined;
    for (let dot = key.indexOf("."); dot > 0; dot = key.indexOf(".", dot + 1)) {
      // The longest reference wins: a part inside a used block has a dotted one.
      const rest = key.slice(dot + 1);
      const reference = key.slice(0, dot);
      if (this.#references.has(reference) && !this.#references.has(`${reference}.${rest.split(".")[0]}`)) return { reference, terminal: rest };
    }
    return undefined;
  }

  find(name: string): NetIndex | undefined {
    return this.#byName.get(this.#settle(name, 0));
  }

  get nets(): readonly Net[] {
    return this.#nets;
  }

  get byName(): ReadonlyMap<string, NetIndex> {
    return this.#byName;
  }

  /** Terminals named only elsewhere (`R5 -- V1.a.plate` with no plate written at V1): key -> net. */
  *aliasTerminals(): Iterable<readonly [reference: string, terminal: string, net: NetIndex]> {
    for (const [name, index] of this.#byName) {
      if (!name.includes(".")) continue;
      const found = this.terminalOf(name);
      if (found && !this.#written.has(name)) yield [found.reference, found.terminal, index];
    }
  }
}

export function placedParts(statements: readonly Placed[]): PlacedPart[] {
  const parts: PlacedPart[] = [];
  const valveReferences = new Set<string>();
  let unnamed = 0;
  const add = (statement: PartStatement | PathPart, { file, scope }: Placed, pathNets?: readonly [Word, Word]) => {
    const definition = kindDefinitions.get(statement.kind.text);
    const written = statement.reference?.text;
    if (written === undefined) {
      parts.push({ statement, definition, file, scope, reference: `${statement.kind.text}#${++unnamed}`, unnamed: true, pathNets });
      return;
    }
    const full = nameIn(scope, written);
    parts.push({ statement, definition, file, scope, reference: full, unnamed: false, pathNets });
    if (definition?.kind === "valve") valveReferences.add(full);
  };
  for (const placed of statements) {
    const { statement } = placed;
    if (statement.node === "part") add(statement, placed);
    else if (statement.node === "path") {
      statement.parts.forEach((part, index) => {
        const left = statement.nets[index];
        const right = statement.nets[index + 1];
        if (left && right) add(part, placed, [left, right]);
      });
    }
  }
  // `valve V1.a` speaks of a section of V1: by the dot as written, or by what was passed for it.
  return parts.map((part) => {
    if (part.definition?.kind !== "valve" || part.unnamed) return part;
    const written = part.statement.reference?.text ?? "";
    const dot = part.reference.lastIndexOf(".");
    if (dot < 0) return part;
    const head = part.reference.slice(0, dot);
    const tail = part.reference.slice(dot + 1);
    const passed = part.scope.passed.has(written);
    const isSection = written.includes(".") || (passed && (valveReferences.has(head) || /^[a-z]$/.test(tail)));
    return isSection ? { ...part, reference: head, section: tail } : part;
  });
}
