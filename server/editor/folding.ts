/** Folds: bodies, blocks, runs of comments, and stages under a ruled-off comment. */
import type { FoldingRange } from "vscode-languageserver-types";
import { lineAt } from "../../grammar/positions.ts";
import type { Statement } from "../../grammar/tree.ts";
import type { CheckedDocument } from "./document.ts";

export function foldingRanges(document: CheckedDocument): FoldingRange[] {
  const folds: FoldingRange[] = [];
  const { lineStarts } = document.tree;
  const fold = (start: number, end: number, kind?: "comment" | "region") => {
    if (end > start) folds.push({ startLine: start, endLine: end, ...(kind ? { kind } : {}) });
  };
  const walk = (statement: Statement) => {
    const from = lineAt(lineStarts, statement.range.start);
    const to = lineAt(lineStarts, Math.max(statement.range.start, statement.range.end - 1));
    // The closing brace stays in sight.
    if (statement.node === "part" && statement.body) fold(from, to - 1);
    else if (statement.node === "block") {
      fold(from, to - 1);
      statement.statements.forEach(walk);
    } else if (statement.node === "path") fold(from, to);
  };
  document.tree.statements.forEach(walk);

  const lines = document.text.split(/\r\n|\r|\n/);
  let run = -1;
  let heading = -1;
  for (let line = 0; line <= lines.length; line++) {
    const text = lines[line]?.trim() ?? "";
    const isComment = text.startsWith("#");
    if (!isComment && run >= 0) {
      fold(run, line - 1, "comment");
      run = -1;
    } else if (isComment && run < 0) run = line;
    if (line === lines.length || /^#\s*[─=~*#-]{2,}\s*\S/.test(text)) {
      if (heading >= 0) fold(heading, lastFilled(lines, line - 1), "region");
      heading = line;
    }
  }
  return folds;
}

function lastFilled(lines: readonly string[], line: number): number {
  let last = line;
  while (last > 0 && lines[last].trim() === "") last--;
  return last;
}
