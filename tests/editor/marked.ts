/** Texts with a cursor: `|` marks it and is taken out. */
import type { Position } from "vscode-languageserver-types";
import { positionAt } from "../../grammar/positions.ts";
import { check } from "../../server/check.ts";
import { type CheckedDocument, checkedDocument } from "../../server/editor/document.ts";

export interface Marked {
  readonly document: CheckedDocument;
  readonly position: Position;
}

export function marked(text: string, others: Readonly<Record<string, string>> = {}): Marked {
  const offset = text.indexOf("|");
  if (offset < 0) throw new Error("no cursor in the text");
  const plain = text.slice(0, offset) + text.slice(offset + 1);
  const document = open(plain, others);
  return { document, position: positionAt(document.tree.lineStarts, offset) };
}

export function open(text: string, others: Readonly<Record<string, string>> = {}): CheckedDocument {
  return checkedDocument(
    check("main.ampnet", text, { today: "2026-11-25", readInclude: (file) => others[file] }),
  );
}

/** Applies edits of one text, last first. */
export function applied(
  text: string,
  edits: readonly {
    readonly range: { readonly start: Position; readonly end: Position };
    readonly newText: string;
  }[],
): string {
  const starts = [0];
  for (let at = 0; at < text.length; at++) if (text[at] === "\n") starts.push(at + 1);
  const offset = ({ line, character }: Position) => (starts[line] ?? text.length) + character;
  return [...edits]
    .sort((one, other) => offset(other.range.start) - offset(one.range.start))
    .reduce(
      (now, { range, newText }) => now.slice(0, offset(range.start)) + newText + now.slice(offset(range.end)),
      text,
    );
}
