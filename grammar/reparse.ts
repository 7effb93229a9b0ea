/**
 * A text read again after an edit: only the statements that the edit touches are read, the others are taken over with their
 * ranges moved. The tree is the one that `parse` gives for the same text, whatever was read before.
 */
import { atOnce, type InSteps } from "./in-steps.ts";
import { parseInSteps, parsePiece } from "./parse.ts";
import { lineAt, lineStartsOf } from "./positions.ts";
import { shifted, shiftedProblem } from "./shift.ts";
import type { Statement, Tree } from "./tree.ts";

/** A text with its tree. */
export interface Read {
  readonly text: string;
  readonly tree: Tree;
}

/**
 * @param before the text as it was read before, without a problem: each of its statements is then whole, and begins a line at
 *   which nothing is open
 * @returns undefined where the edit reaches further than the statements that it stands in (a brace too many or too few, a
 *   path that goes on): then the whole has to be read
 */
export function reparse(text: string, before: Read): Tree | undefined {
  if (before.tree.problems.length > 0) return undefined;
  const { statements, lineStarts } = before.tree;
  const edit = editBetween(before.text, text);
  const first = lastFrom(statements, lineStarts, edit.start);
  const start = first < 0 ? 0 : lineOf(statements[first], lineStarts);
  const next = firstFrom(statements, lineStarts, edit.end, Math.max(0, first));
  const end = next < statements.length ? lineOf(statements[next], lineStarts) : before.text.length;
  const by = text.length - before.text.length;
  const piece = parsePiece(copyOf(text, start, end + by));
  if (!piece) return undefined;
  const all: Statement[] = first < 0 ? [] : statements.slice(0, first);
  for (const statement of piece.statements) all.push(shifted(statement, start));
  for (let k = next; k < statements.length; k++) all.push(shifted(statements[k], by));
  return {
    statements: all,
    problems: piece.problems.map((problem) => shiftedProblem(problem, start)),
    lineStarts: lineStartsOf(text),
  };
}

/** Reads one text over and over, as it is edited. */
export class Reader {
  /** As it was last without a problem: what is being typed is wrong half of the time, and what is around it stays. */
  #whole: Read | undefined;
  #newest: Read | undefined;

  /** @returns what `parse` gives for the text; the same object for the same text as the last time */
  read(text: string): Tree {
    return atOnce(this.readInSteps(text));
  }

  /** The same with stops in between, where another text may be read. */
  *readInSteps(text: string): InSteps<Tree> {
    if (this.#newest?.text === text) return this.#newest.tree;
    const tree = (this.#whole && reparse(text, this.#whole)) ?? (yield* parseInSteps(text));
    this.#newest = { text, tree };
    if (tree.problems.length === 0) this.#whole = this.#newest;
    return tree;
  }
}

/** A copy of its own: a slice would keep the whole text alive for as long as a word of it is. */
const copyOf = (text: string, start: number, end: number): string => ` ${text.slice(start, end)}`.slice(1);

/** The one stretch of the text before that has been replaced. */
export function editBetween(before: string, after: string): { readonly start: number; readonly end: number } {
  const most = Math.min(before.length, after.length);
  let start = 0;
  while (start < most && before.charCodeAt(start) === after.charCodeAt(start)) start++;
  let end = before.length;
  for (let at = after.length; end > start && at > start; ) {
    if (before.charCodeAt(end - 1) !== after.charCodeAt(at - 1)) break;
    end--;
    at--;
  }
  return { start, end };
}

const lineOf = ({ range }: Statement, lineStarts: readonly number[]): number =>
  lineStarts[lineAt(lineStarts, range.start)];

/** The last statement whose line begins at an offset or before it; -1 where none does. */
function lastFrom(statements: readonly Statement[], lineStarts: readonly number[], offset: number): number {
  let low = -1;
  let high = statements.length - 1;
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if (lineOf(statements[middle], lineStarts) <= offset) low = middle;
    else high = middle - 1;
  }
  return low;
}

/** The first statement from an index on whose line begins behind an offset, the line end before it untouched. */
function firstFrom(
  statements: readonly Statement[],
  lineStarts: readonly number[],
  offset: number,
  from: number,
): number {
  let low = from;
  let high = statements.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (lineOf(statements[middle], lineStarts) > offset) high = middle;
    else low = middle + 1;
  }
  return low;
}
