/** From the word outwards: word, fact, item or piece of path, body, statement, block, file. */
import type { Position, SelectionRange } from "vscode-languageserver-types";
import type { PartStatement, PathPart, Range, Statement } from "../../grammar/tree.ts";
import { type CheckedDocument, toOffset, toRange } from "./document.ts";

export function selectionRanges(document: CheckedDocument, positions: readonly Position[]): SelectionRange[] {
  return positions.map((position) => {
    const offset = toOffset(document, position);
    const ranges: Range[] = [{ start: 0, end: document.text.length }];
    gather(document.tree.statements, offset, ranges);
    for (const occurrence of document.occurrences)
      if (holds(occurrence.range, offset)) ranges.push(occurrence.range);
    // Only ranges that lie inside the last one, so that each step of the selection grows.
    const nested: Range[] = [];
    for (const range of ranges.sort((one, other) => length(other) - length(one))) {
      const outer = nested[nested.length - 1];
      const inside = outer === undefined || (range.start >= outer.start && range.end <= outer.end);
      if (inside && (outer === undefined || length(range) < length(outer))) nested.push(range);
    }
    return nested.reduce<SelectionRange | undefined>(
      (parent, range) => ({ range: toRange(document, range), ...(parent ? { parent } : {}) }),
      undefined,
    ) as SelectionRange;
  });
}

function gather(statements: readonly Statement[], offset: number, ranges: Range[]): void {
  for (const statement of statements) {
    if (!holds(statement.range, offset)) continue;
    ranges.push(statement.range);
    if (statement.node === "block") gather(statement.statements, offset, ranges);
    const pieces: readonly (PartStatement | PathPart)[] =
      statement.node === "path" ? statement.parts : statement.node === "part" ? [statement] : [];
    for (const piece of pieces) {
      if (holds(piece.range, offset)) ranges.push(piece.range);
      for (const fact of piece.facts) if (holds(fact.range, offset)) ranges.push(fact.range);
      if ("body" in piece && piece.body && holds(piece.body.range, offset)) {
        ranges.push(piece.body.range);
        for (const item of piece.body.items) if (holds(item.range, offset)) ranges.push(item.range);
      }
    }
  }
}

const holds = (range: Range, offset: number) => range.start <= offset && offset <= range.end;
const length = (range: Range) => range.end - range.start;
