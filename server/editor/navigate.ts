/** Definition, references and highlights of nets, parts and blocks, across included files. */
import type { DocumentHighlight, Location, Position } from "vscode-languageserver-types";
import type { Place } from "../circuit/model.ts";
import { type CheckedDocument, occurrenceAt, placeRange, toOffset, toRange } from "./document.ts";
import { type Occurrence, occurrencesOf } from "./occurrences.ts";
import { resolveNet, resolveReference } from "./resolve.ts";

export type UriOf = (file: string) => string;

/** What a name in the text stands for. */
export type Target =
  | { readonly kind: "net"; readonly name: string; readonly places: readonly Place[] }
  | {
      readonly kind: "part";
      readonly name: string;
      readonly places: readonly Place[];
      readonly declaration?: Place;
    }
  | {
      readonly kind: "block";
      readonly name: string;
      readonly places: readonly Place[];
      readonly declaration?: Place;
    };

/** The thing under an offset with every place that names it, in file order; undefined on words that name nothing. */
export function targetAt(document: CheckedDocument, offset: number): Target | undefined {
  const occurrence = occurrenceAt(document, offset);
  if (occurrence === undefined) return undefined;
  if (occurrence.role === "net") return netTarget(document, occurrence) ?? partTarget(document, occurrence);
  if (occurrence.role === "reference") return partTarget(document, occurrence);
  if (occurrence.role === "block") return blockTarget(document, occurrence.text);
  return undefined;
}

function netTarget(document: CheckedDocument, occurrence: Occurrence): Target | undefined {
  // A dotted name belongs to its part: V1.a.plate is renamed with V1.
  if (occurrence.text.includes(".") && resolveReference(document.result.circuit, occurrence))
    return undefined;
  const net = resolveNet(document.result.circuit, occurrence);
  if (net === undefined) return undefined;
  const { name, mentions } = document.result.circuit.nets[net];
  const own =
    occurrence.block === undefined
      ? mentions
      : mentions.filter((place) => wordAt(document, place) === occurrence.text);
  return { kind: "net", name, places: distinct(own) };
}

function partTarget(document: CheckedDocument, occurrence: Occurrence): Target | undefined {
  const part = resolveReference(document.result.circuit, occurrence);
  if (part === undefined) return undefined;
  const written = wordAt(document, part.referencePlace)?.split(".")[0] ?? part.reference;
  const places: Place[] = [];
  for (const { file, occurrence: other } of everywhere(document)) {
    if (other.role !== "net" && other.role !== "reference") continue;
    if (other.text !== written && !other.text.startsWith(`${written}.`)) continue;
    if (resolveReference(document.result.circuit, other) !== part) continue;
    places.push({ file, range: { start: other.range.start, end: other.range.start + written.length } });
  }
  return { kind: "part", name: written, places: distinct(places), declaration: part.referencePlace };
}

function blockTarget(document: CheckedDocument, name: string): Target {
  const found = everywhere(document).filter(
    ({ occurrence }) => occurrence.role === "block" && occurrence.text === name,
  );
  const declaration = found.find(({ occurrence }) => occurrence.declares);
  return {
    kind: "block",
    name,
    places: found.map(({ file, occurrence }) => ({ file, range: occurrence.range })),
    ...(declaration ? { declaration: { file: declaration.file, range: declaration.occurrence.range } } : {}),
  };
}

/** Names of every file of the check. */
export function everywhere(
  document: CheckedDocument,
): { readonly file: string; readonly occurrence: Occurrence }[] {
  return [...document.result.sources].flatMap(([file, source]) =>
    (file === document.file ? document.occurrences : occurrencesOf(source.tree.statements)).map(
      (occurrence) => ({
        file,
        occurrence,
      }),
    ),
  );
}

function wordAt(document: CheckedDocument, place: Place): string | undefined {
  return document.result.sources.get(place.file)?.text.slice(place.range.start, place.range.end);
}

function distinct(places: readonly Place[]): Place[] {
  const seen = new Set<string>();
  return places.filter(({ file, range }) => {
    const key = `${file} ${range.start}`;
    if (seen.has(key)) return false;
    seen.add(key);
    return true;
  });
}

/** A net's definition is its first mention; a part's, its statement; a block's, its statement; an include's, the file. */
export function definition(
  document: CheckedDocument,
  position: Position,
  uriOf: UriOf,
): Location | undefined {
  const target = targetAt(document, toOffset(document, position));
  if (target === undefined) return undefined;
  const place = target.kind === "net" ? target.places[0] : (target.declaration ?? target.places[0]);
  return place && { uri: uriOf(place.file), range: placeRange(document.result, place) };
}

export function references(
  document: CheckedDocument,
  position: Position,
  includeDeclaration: boolean,
  uriOf: UriOf,
): Location[] {
  const target = targetAt(document, toOffset(document, position));
  if (target === undefined) return [];
  const declaration = target.kind === "net" ? undefined : target.declaration;
  return target.places
    .filter(
      (place) =>
        includeDeclaration ||
        place.file !== declaration?.file ||
        place.range.start !== declaration.range.start,
    )
    .map((place) => ({ uri: uriOf(place.file), range: placeRange(document.result, place) }));
}

const READ = 2;
const WRITE = 3;

export function highlights(document: CheckedDocument, position: Position): DocumentHighlight[] {
  const target = targetAt(document, toOffset(document, position));
  if (target === undefined) return [];
  const declaration = target.kind === "net" ? undefined : target.declaration;
  return target.places
    .filter((place) => place.file === document.file)
    .map((place) => ({
      range: toRange(document, place.range),
      kind: declaration && place.range.start === declaration.range.start ? WRITE : READ,
    }));
}
