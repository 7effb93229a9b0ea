/** The outline (stages, parts, nets) and the search over all files of a folder. */
import type { DocumentSymbol, Location, SymbolKind } from "vscode-languageserver-types";
import type { PartStatement, PathPart, Statement } from "../../grammar/tree.ts";
import { describeFacts } from "./describe.ts";
import { type CheckedDocument, placeRange, toRange } from "./document.ts";
import { resolveReference } from "./resolve.ts";

// The protocol's symbol kinds; there is none for parts, so the nearest in meaning.
const AMPLIFIER: SymbolKind = 4; // package
const STAGE: SymbolKind = 3; // namespace
const VALVE: SymbolKind = 5; // class
const PART: SymbolKind = 8; // field
const NET: SymbolKind = 14; // constant

export function documentSymbols(document: CheckedDocument): DocumentSymbol[] {
  return [...stagesOf(document), ...netsOf(document)];
}

/** A comment line ruled off (`# ── supply chain ──`) heads a stage until the next one. */
const HEADING = /^[ \t]*#[ \t]*[─=~*#-]{2,}[ \t]*(.*?)[ \t]*[─=~*#-]*[ \t]*$/gm;

function stagesOf(document: CheckedDocument): DocumentSymbol[] {
  const headings = [...document.text.matchAll(HEADING)]
    .filter((match) => match[1] !== "")
    .map((match) => ({ name: match[1], start: match.index, headEnd: match.index + match[0].length }));
  const top: DocumentSymbol[] = [];
  const stages = headings.map(({ name, start, headEnd }, index) => {
    const end = headings[index + 1]?.start ?? document.text.length;
    const symbol: DocumentSymbol = {
      name,
      kind: STAGE,
      range: toRange(document, { start, end }),
      selectionRange: toRange(document, { start, end: headEnd }),
      children: [],
    };
    return { start, end, symbol };
  });
  for (const statement of document.tree.statements) {
    const symbols = statementSymbols(document, statement);
    const stage = stages.find(
      ({ start, end }) => statement.range.start >= start && statement.range.start < end,
    );
    const list = stage?.symbol.children ?? top;
    for (const symbol of symbols) list.push(symbol);
  }
  return [...top, ...stages.map(({ symbol }) => symbol)];
}

function statementSymbols(document: CheckedDocument, statement: Statement): DocumentSymbol[] {
  switch (statement.node) {
    case "amp":
      return [symbol(document, statement.name.text, AMPLIFIER, statement.range, statement.name.range)];
    case "part":
      return partSymbol(document, statement);
    case "path":
      return statement.parts.flatMap((part) => partSymbol(document, part));
    case "block":
      return [
        {
          ...symbol(document, statement.name.text, STAGE, statement.range, statement.name.range, "block"),
          children: statement.statements.flatMap((inner) => statementSymbols(document, inner)),
        },
      ];
    case "use":
      return [
        symbol(
          document,
          `${statement.name.text} as ${statement.prefix?.text ?? "?"}`,
          STAGE,
          statement.range,
          statement.name.range,
          "use",
        ),
      ];
    default:
      return [];
  }
}

function partSymbol(document: CheckedDocument, part: PartStatement | PathPart): DocumentSymbol[] {
  if (part.reference === undefined) return [];
  const known = resolveReference(document.result.circuit, part.reference);
  const detail = [part.kind.text, known && describeFacts(known)].filter(Boolean).join(" ");
  const kind = part.kind.text === "valve" ? VALVE : PART;
  return [symbol(document, part.reference.text, kind, part.range, part.reference.range, detail)];
}

function symbol(
  document: CheckedDocument,
  name: string,
  kind: SymbolKind,
  range: { readonly start: number; readonly end: number },
  selection: { readonly start: number; readonly end: number },
  detail?: string,
): DocumentSymbol {
  return {
    name: name === "" ? "(unnamed)" : name,
    ...(detail ? { detail } : {}),
    kind,
    range: toRange(document, range),
    selectionRange: toRange(document, selection),
  };
}

function netsOf(document: CheckedDocument): DocumentSymbol[] {
  const children: DocumentSymbol[] = [];
  for (const net of document.result.circuit.nets) {
    const first = net.mentions.find((place) => place.file === document.file);
    if (first) children.push(symbol(document, net.name, NET, first.range, first.range));
  }
  if (children.length === 0) return [];
  children.sort((one, other) => one.name.localeCompare(other.name, "en", { numeric: true }));
  // At the end, so that an outline ordered by place begins with the amplifier, and no line counts as lying in it.
  const end = { start: document.text.length, end: document.text.length };
  return [{ ...symbol(document, "nets", STAGE, end, end), children }];
}

export interface WorkspaceSymbolEntry {
  readonly name: string;
  readonly kind: SymbolKind;
  readonly location: Location;
  readonly containerName?: string;
}

/** @param query letters that must stand in the name in their order, in any case */
export function workspaceSymbols(
  documents: Iterable<CheckedDocument>,
  query: string,
  uriOf: (file: string) => string,
): WorkspaceSymbolEntry[] {
  const entries: WorkspaceSymbolEntry[] = [];
  for (const { result, file } of documents) {
    const add = (
      name: string,
      kind: SymbolKind,
      place: { file: string; range: { start: number; end: number } },
    ) => {
      if (place.file !== file || !matches(name, query)) return;
      entries.push({
        name,
        kind,
        location: { uri: uriOf(place.file), range: placeRange(result, place) },
        ...(result.circuit.name ? { containerName: result.circuit.name } : {}),
      });
    };
    for (const part of result.circuit.parts) {
      if (!part.unnamed) add(part.reference, part.kind === "valve" ? VALVE : PART, part.referencePlace);
    }
    for (const net of result.circuit.nets) if (net.mentions[0]) add(net.name, NET, net.mentions[0]);
  }
  return entries;
}

function matches(name: string, query: string): boolean {
  const letters = query.toLowerCase();
  let at = 0;
  for (const letter of name.toLowerCase()) if (letter === letters[at]) at++;
  return at >= letters.length;
}
