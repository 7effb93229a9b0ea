/** The formatter's text as the fewest line edits: whole document, a range, or the line just finished. */
import type { Range as LspRange, Position, TextEdit } from "vscode-languageserver-types";
import { format } from "../../grammar/format.ts";

const LINE_BREAK = /\r\n|\r|\n/;

export function formatDocument(text: string): TextEdit[] {
  return lineEdits(text, format(text));
}

/** Edits of the lines that the range touches. */
export function formatRange(text: string, range: LspRange): TextEdit[] {
  return formatDocument(text).filter(
    (edit) => edit.range.start.line <= range.end.line && edit.range.end.line >= range.start.line,
  );
}

/** After a line end or a closing brace: the line before the cursor, and its neighbours where they are aligned with it. */
export function formatOnType(text: string, position: Position): TextEdit[] {
  const line = Math.max(0, position.line - 1);
  return formatRange(text, {
    start: { line, character: 0 },
    end: { line, character: Number.MAX_SAFE_INTEGER },
  }).filter((edit) => edit.range.start.line >= line && edit.range.end.line <= position.line);
}

/** One edit per run of changed lines where the line count is the same; else one edit of the changed middle. */
function lineEdits(before: string, after: string): TextEdit[] {
  if (before === after) return [];
  const old = before.split(LINE_BREAK);
  const fresh = after.split(LINE_BREAK);
  if (old.length === fresh.length) {
    const edits: TextEdit[] = [];
    for (let line = 0; line < old.length; line++) {
      if (old[line] === fresh[line]) continue;
      edits.push({
        range: { start: { line, character: 0 }, end: { line, character: old[line].length } },
        newText: fresh[line],
      });
    }
    return edits;
  }
  let head = 0;
  while (head < Math.min(old.length, fresh.length) && old[head] === fresh[head]) head++;
  let tail = 0;
  while (
    tail < Math.min(old.length, fresh.length) - head &&
    old[old.length - 1 - tail] === fresh[fresh.length - 1 - tail]
  )
    tail++;
  const newText = fresh.slice(head, fresh.length - tail).join("\n");
  const endLine = old.length - tail;
  const end =
    tail > 0
      ? { line: endLine, character: 0 }
      : { line: old.length - 1, character: old[old.length - 1].length };
  return [
    {
      range: { start: { line: head, character: 0 }, end },
      newText: tail > 0 && newText !== "" ? `${newText}\n` : newText,
    },
  ];
}
