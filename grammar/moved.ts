/**
 * Edits that say nothing: a comment typed, a line left blank, blanks between words. Every statement is as it was, and stands where
 * the edit has moved it to.
 */
import type { InSteps } from "./in-steps.ts";
import { editBetween, type Read } from "./reparse.ts";
import type { Range } from "./tree.ts";

/** Offsets `start` to `end` of the text before were replaced by a stretch that is longer by so many UTF-16 code units. */
export interface Move {
  readonly start: number;
  readonly end: number;
  readonly by: number;
}

/** Statements that are compared without a stop. */
const PIECE = 100;

/** @returns undefined where anything is said otherwise than before, or a problem stands in either text */
export function* moveBetween(before: Read, after: Read): InSteps<Move | undefined> {
  if (before.tree.problems.length > 0 || after.tree.problems.length > 0) return undefined;
  const one = before.tree.statements;
  const other = after.tree.statements;
  if (one.length !== other.length) return undefined;
  const edit = editBetween(before.text, after.text);
  const move = { ...edit, by: after.text.length - before.text.length };
  for (let k = 0; k < one.length; k++) {
    if (!alike(one[k], other[k], move)) return undefined;
    if (k % PIECE === PIECE - 1) yield;
  }
  return move;
}

/** Where a range of the text before stands now; undefined where the edit cuts it, or it is empty and at the edit. */
export function movedRange(range: Range, move: Move): Range | undefined {
  if (range.start === range.end) {
    const at = range.start;
    if (at < move.start || at === 0) return move.start === 0 && move.end > 0 ? undefined : range;
    return at > move.end ? { start: at + move.by, end: at + move.by } : undefined;
  }
  const start = movedStart(range.start, move);
  const end = movedEnd(range.end, move);
  return start === undefined || end === undefined ? undefined : { start, end };
}

/** What begins where something is put in stands behind it, */
const movedStart = (at: number, move: Move): number | undefined =>
  at < move.start ? at : at >= move.end ? at + move.by : undefined;

/** and what ends there stands before it. A statement that goes on around the edit keeps its start. */
const movedEnd = (at: number, move: Move): number | undefined =>
  at <= move.start ? at : at >= move.end ? at + move.by : undefined;

function alike(a: unknown, b: unknown, move: Move): boolean {
  if (a === b) return true;
  if (typeof a !== "object" || typeof b !== "object" || a === null || b === null) return false;
  if (Array.isArray(a)) {
    if (!Array.isArray(b) || a.length !== b.length) return false;
    for (let k = 0; k < a.length; k++) if (!alike(a[k], b[k], move)) return false;
    return true;
  }
  const one = a as Readonly<Record<string, unknown>>;
  const other = b as Readonly<Record<string, unknown>>;
  for (const field in one) {
    if (field === "range") {
      if (!hasMoved(one.range as Range, other.range as Range, move)) return false;
    } else if (!alike(one[field], other[field], move)) return false;
  }
  for (const field in other) if (one[field] === undefined && other[field] !== undefined) return false;
  return true;
}

function hasMoved(before: Range, after: Range, move: Move): boolean {
  return movedStart(before.start, move) === after.start && movedEnd(before.end, move) === after.end;
}
