/**
 * What a kind of part is: its terminals, its facts, its limits, and how it is made from what was written. One file per
 * kind beside this one; everything that differs between kinds is data or a function there.
 */
import type { BodyItem, Fact, RowItem, TerminalItem, Unit, Word } from "../../../grammar/tree.ts";
import type { ValveBook } from "../../facts/valves/book.ts";
import type { Given, NetIndex, Part, PartBase, PartKind, Place } from "../model.ts";
import type { Problems } from "../problems.ts";
import type { Scope } from "../scope.ts";

export interface TerminalSpec {
  /** As the circuit keeps it. */
  readonly name: string;
  /** Other words for it. */
  readonly aliases?: readonly string[];
  readonly description: string;
}

/** A fact with a number. */
export interface NumberFact {
  /** Field of the part that holds it. */
  readonly field: string;
  readonly unit: Unit;
  /** What it is, for messages and hovers: `resistance`. */
  readonly what: string;
  readonly example: string;
  /** Letter notation without a unit stands for it too: `4k7`, `22n`. */
  readonly bare?: "ohm" | "farad";
  /** Words that may stand before it. */
  readonly labels?: readonly string[];
  /** True: only with its word. */
  readonly labelled?: boolean;
  /** True: only volts written as alternating (`275VAC`). */
  readonly alternating?: boolean;
  /** True: only with `dc` before or behind. */
  readonly direct?: boolean;
  /** Least and most in SI units; the least itself is allowed only with `zero`. */
  readonly least?: number;
  readonly most: number;
  readonly zero?: boolean;
  /** Factor from the written unit to the field's: percent to fraction. */
  readonly scale?: number;
  readonly required?: boolean;
}

/** A fact that is a word; the words of one field exclude each other. */
export interface WordFact {
  readonly field: string;
  readonly value: string;
  readonly description: string;
}

export interface FactTable {
  readonly numbers: readonly NumberFact[];
  readonly words: Readonly<Record<string, WordFact>>;
  /** A type is written (`EL84`, `1N4007`): the first word that is no fact word. */
  readonly type?: { readonly example: string; readonly required: boolean };
  /** IEC 60127 letter and current in one (`T500mA`). */
  readonly fuse?: boolean;
}

/** Facts of one part as read: numbers in SI units, words by field. */
export interface ReadFacts {
  readonly numbers: Readonly<Record<string, Given | undefined>>;
  readonly words: Readonly<Record<string, string | undefined>>;
  readonly type?: Word;
  readonly fuse?: { readonly letter: string; readonly amps: number; readonly place: Place };
  readonly places: ReadonlyMap<string, Place>;
  /** True: a value of the wrong kind was written and told, so that a missing one needs no telling. */
  readonly wrong: boolean;
}

/** Where a terminal's net was written. */
export interface Wiring {
  readonly word: Word;
  readonly scope: Scope;
  readonly place: Place;
  /** Once resolved; `-1` while it is being followed. */
  net: NetIndex | undefined;
}

/** Wirings by terminal. Nearly every part has two: a map of its own for each would cost more than the rest of the part. */
export class Wirings {
  private firstKey: string | undefined;
  private firstWiring: Wiring | undefined;
  private secondKey: string | undefined;
  private secondWiring: Wiring | undefined;
  private more: Map<string, Wiring> | undefined;

  get(key: string): Wiring | undefined {
    if (key === this.firstKey) return this.firstWiring;
    if (key === this.secondKey) return this.secondWiring;
    return this.more?.get(key);
  }

  has(key: string): boolean {
    return this.get(key) !== undefined;
  }

  set(key: string, wiring: Wiring): void {
    if (this.firstKey === undefined || this.firstKey === key) {
      this.firstKey = key;
      this.firstWiring = wiring;
    } else if (this.secondKey === undefined || this.secondKey === key) {
      this.secondKey = key;
      this.secondWiring = wiring;
    } else {
      this.more ??= new Map();
      this.more.set(key, wiring);
    }
  }

  /** In the order in which they were set. */
  keys(): readonly string[] {
    const keys: string[] = [];
    if (this.firstKey !== undefined) keys.push(this.firstKey);
    if (this.secondKey !== undefined) keys.push(this.secondKey);
    if (this.more) keys.push(...this.more.keys());
    return keys;
  }

  get size(): number {
    return (
      (this.firstKey === undefined ? 0 : 1) + (this.secondKey === undefined ? 0 : 1) + (this.more?.size ?? 0)
    );
  }
}

export function wiringOf(word: Word, scope: Scope): Wiring {
  return { word, scope, place: { file: scope.file, range: word.range }, net: undefined };
}

/** A part as written, before nets have numbers. */
export interface RawPart {
  readonly spec: KindSpec;
  readonly reference: string;
  readonly unnamed: boolean;
  readonly scope: Scope;
  readonly place: Place;
  readonly referencePlace: Place;
  readonly facts: readonly Fact[];
  readonly items: readonly BodyItem[];
  /** Every net's word of the body, in order. */
  readonly written: readonly Wiring[];
  /** Terminal key -> where its net was written. Keys of terminals joined to a fresh net by an alias are added later. */
  readonly wiring: Wirings;
  /** Nets of terminals that only aliases name; made when the first one is met. */
  fresh: Map<string, NetIndex> | undefined;
}

/** What a kind needs to make its part. */
export interface Building {
  readonly raw: RawPart;
  readonly base: PartBase;
  readonly facts: ReadFacts;
  readonly problems: Problems;
  /** The types that are known. */
  readonly book: ValveBook;
  net(key: string): NetIndex | undefined;
  place(range: { readonly start: number; readonly end: number }): Place;
}

export interface KindSpec {
  readonly kind: PartKind;
  readonly description: string;
  readonly example: string;
  readonly terminals: readonly TerminalSpec[];
  /** Where the names depend on what is written; default: `terminals`. As many of them, in the same order. */
  terminalsOf?(raw: RawPart): readonly TerminalSpec[];
  /** Rows that its block has instead, where their names are fixed. */
  readonly rows?: readonly string[];
  /** May stand in a path: first terminal on the left, second on the right. */
  readonly path: boolean;
  readonly facts: FactTable;
  /** Names of the limits that it is held to, for hovers. */
  readonly limits: readonly string[];
  /** Writes where terminals are wired; a body of plain `terminal: net` items is the default. */
  wire?(raw: RawPart, problems: Problems): void;
  /** The key that a terminal written elsewhere means (`["ht", "1"]`), or undefined. Default: the terminals above. */
  terminalKey?(raw: RawPart, pieces: readonly string[]): string | undefined;
  /** Terminals that may be written elsewhere, for near names. */
  terminalNames?(raw: RawPart): readonly string[];
  build(building: Building): Part;
}

export type { BodyItem, Fact, RowItem, TerminalItem, Word };
