/** The one door of the grammar: text in, tree out. */
import type { IRecognitionException, IToken } from "chevrotain";
import { layOut } from "./layout.ts";
import { endOf, LineEnd, tokenize } from "./lexer.ts";
import { AmpnetParser } from "./parser.ts";
import { lineAt, lineStartsOf } from "./positions.ts";
import type { SyntaxProblem, Tree } from "./tree.ts";

/** Building the parser costs more than a thousand lines of reading: one is made, at the first text. */
let parser: AmpnetParser | undefined;

/**
 * Reads one `.ampnet` text.
 * @returns the tree of all that could be understood, and at most one problem for each line that could not.
 *   Ranges are offsets in UTF-16 code units. A problem where something is missing is empty, behind what stands before it.
 * @throws never, for any text
 */
export function parse(text: string): Tree {
  const { tokens, problems } = layOut(tokenize(text));
  return treeOf(text, tokens, problems);
}

/**
 * Reads some whole lines of a longer text, before and behind which statements end and begin.
 * @returns undefined where they cannot be told apart from the lines around them: a brace is left open or closes nothing, or the
 *   first of them goes on with what stands before
 */
export function parsePiece(text: string): Tree | undefined {
  const { tokens, problems } = layOut(tokenize(text));
  if (problems.length > 0) return undefined;
  const begins = tokens.find((token) => token.tokenType !== LineEnd);
  if (begins && (begins.image.startsWith("--") || begins.image === "{")) return undefined;
  const tree = treeOf(text, tokens, problems);
  // What is told of something missing may stand behind the token before, and that is not here.
  const from = begins?.startOffset ?? 0;
  return tree.problems.every(({ range }) => range.start >= from) ? tree : undefined;
}

function treeOf(text: string, tokens: IToken[], laidOut: readonly Found[]): Tree {
  parser ??= new AmpnetParser();
  const lineStarts = lineStartsOf(text);
  parser.source = text;
  parser.problems = [];
  parser.input = tokens;
  const statements = parser.file();
  const found = [...parser.errors.map(problemOf), ...parser.problems];
  // Nothing of one text is kept alive until the next.
  parser.input = [];
  parser.source = "";
  return { statements, problems: onePerLine(laidOut, found, lineStarts), lineStarts };
}

interface Found {
  readonly message: string;
  readonly start: number;
  readonly end: number;
}

function problemOf(error: IRecognitionException): Found {
  const token = error.token;
  const isThere = !Number.isNaN(token.startOffset) && !/^(?:|[\r\n].*)$/su.test(token.image);
  if (isThere) return { message: error.message, start: token.startOffset, end: endOf(token) };
  const previous = (error as { previousToken?: typeof token }).previousToken;
  const end = previous && !Number.isNaN(previous.startOffset) ? endOf(previous) : 0;
  return { message: error.message, start: end, end };
}

/**
 * One problem of each line, in the order of the text: that of its braces, or the first; what else is wrong with the line
 * mostly follows from it.
 */
function onePerLine(
  braces: readonly Found[],
  found: readonly Found[],
  lineStarts: readonly number[],
): readonly SyntaxProblem[] {
  const byLine = new Map<number, Found>();
  for (const list of [braces, found]) {
    for (const one of [...list].sort((a, b) => a.start - b.start)) {
      const line = lineAt(lineStarts, one.start);
      if (!byLine.has(line)) byLine.set(line, one);
    }
  }
  return [...byLine.values()]
    .sort((a, b) => a.start - b.start)
    .map(({ message, start, end }) => ({ rule: "circuit/syntax", message, range: { start, end } }));
}
