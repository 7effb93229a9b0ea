/** What a file in `kinds/` says of one kind of part. */
import type { Fact, RowItem } from "../../../grammar/tree.ts";
import type { FactReader } from "./fact-reader.ts";
import type { CircuitProblem, NetIndex, Part, PartKind, Place } from "../model.ts";

/** A part under construction: where its words are, and how a net's word becomes an index. */
export interface Draft {
  readonly kind: string;
  readonly reference: string;
  readonly unnamed: boolean;
  readonly place: Place;
  readonly referencePlace: Place;
  readonly file: string;
  readonly facts: FactReader;
  readonly rawFacts: readonly Fact[];
  /** Terminals by the kind's own names, with the facts behind their nets. */
  readonly terminals: ReadonlyMap<string, { readonly net: NetIndex; readonly place: Place; readonly facts: readonly Fact[] }>;
  readonly rows: readonly DraftRow[];
  problem(rule: string, message: string, place: Place, on?: readonly string[]): void;
  /** A reader of a row's or lead's own facts. */
  reader(facts: readonly Fact[], subject: string): FactReader;
  readonly problems: CircuitProblem[];
}

export interface DraftRow {
  readonly item: RowItem;
  readonly place: Place;
  readonly namePlace: Place;
  /** Bare nets of a winding, in order. */
  readonly nets: readonly NetIndex[];
  readonly netPlaces: readonly Place[];
  /** Terminals of a section or pole. */
  readonly terminals: ReadonlyMap<string, { readonly net: NetIndex; readonly place: Place }>;
}

export interface KindDefinition {
  readonly kind: PartKind;
  /** One sentence for hovers. */
  readonly help: string;
  /** Terminals in a path, left to right; empty where it cannot stand in a path. */
  readonly path: readonly string[];
  /** All terminals; where rows carry them, those of a row. `any` for kinds whose terminals are free names. */
  readonly terminals: readonly string[] | "any";
  /** Other words for the same terminals. */
  readonly aliases?: Readonly<Record<string, string>>;
  /** Words that may stand as facts. */
  readonly words: readonly string[];
  /** Facts in words, for signature help: `100k` resistance, … */
  readonly facts: readonly { readonly example: string; readonly what: string; readonly required?: boolean }[];
  /** Limits that a part of this kind has. */
  readonly limits: readonly string[];
  /** What its rows are: windings, sections, poles. */
  readonly rows?: "windings" | "sections" | "poles";
  /** @returns undefined where nothing useful can be made of it (a problem has been told) */
  build(draft: Draft): Part | undefined;
}

/** What every part has. */
export function baseOf(draft: Draft): {
  readonly reference: string;
  readonly unnamed?: boolean;
  readonly place: Place;
  readonly referencePlace: Place;
  readonly terminals: ReadonlyMap<string, NetIndex>;
  readonly factPlaces: ReadonlyMap<string, Place>;
  readonly terminalPlaces: ReadonlyMap<string, Place>;
} {
  return {
    reference: draft.reference,
    ...(draft.unnamed ? { unnamed: true } : {}),
    place: draft.place,
    referencePlace: draft.referencePlace,
    terminals: new Map([...draft.terminals].map(([name, { net }]) => [name, net])),
    factPlaces: draft.facts.places,
    terminalPlaces: new Map([...draft.terminals].map(([name, { place }]) => [name, place])),
  };
}
