/** Colours by meaning: what a word is, not how it looks. */
import type { Range as LspRange, SemanticTokens, SemanticTokensLegend } from "vscode-languageserver-types";
import { lineAt } from "../../grammar/positions.ts";
import { type CheckedDocument, occurrencesBetween, toOffset } from "./document.ts";
import type { Role } from "./occurrences.ts";

const TYPE_OF: Readonly<Record<Role, string>> = {
  keyword: "keyword",
  kind: "type",
  reference: "variable",
  terminal: "property",
  row: "property",
  net: "parameter",
  type: "class",
  fact: "enumMember",
  label: "decorator",
  number: "number",
  block: "function",
  prefix: "namespace",
  rule: "macro",
  string: "string",
  region: "enumMember",
  date: "number",
  subject: "property",
};

export const legend: SemanticTokensLegend = {
  tokenTypes: [...new Set(Object.values(TYPE_OF))],
  tokenModifiers: ["declaration", "readonly"],
};

const FIXED_NETS = new Set(["gnd", "chassis"]);

export function semanticTokens(document: CheckedDocument, range?: LspRange): SemanticTokens {
  const from = range ? toOffset(document, range.start) : 0;
  const to = range ? toOffset(document, range.end) : document.text.length;
  const data: number[] = [];
  let lastLine = 0;
  let lastCharacter = 0;
  let lastEnd = -1;
  const { lineStarts } = document.tree;
  const occurrences = range ? occurrencesBetween(document, from, to) : document.occurrences;
  for (const occurrence of occurrences) {
    const { start, end } = occurrence.range;
    if (end < from || start > to || start < lastEnd || end <= start) continue;
    const line = lineAt(lineStarts, start);
    if (lineAt(lineStarts, end - 1) !== line) continue;
    lastEnd = end;
    const character = start - lineStarts[line];
    const modifiers = (occurrence.declares ? 1 : 0) | (FIXED_NETS.has(occurrence.text) ? 2 : 0);
    data.push(
      line - lastLine,
      line === lastLine ? character - lastCharacter : character,
      end - start,
      legend.tokenTypes.indexOf(TYPE_OF[occurrence.role]),
      modifiers,
    );
    lastLine = line;
    lastCharacter = character;
  }
  return { data };
}
