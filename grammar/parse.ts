/** The one door of the grammar: text in, tree out. */
import type { IRecognitionException, IToken } from "chevrotain";
import { atOnce, type InSteps } from "./in-steps.ts";
import { layOut, layOutInSteps } from "./layout.ts";
import { endOf, LineEnd, tokenize, tokenizeInSteps } from "./lexer.ts";
import { AmpnetParser } from "./parser.ts";
import { lineAt, lineStartsOf } from "./positions.ts";
import type { Statement, SyntaxProblem, Tree } from "./tree.ts";
import { closing, opening } from "./vocabulary.ts";

/** Building the parser costs more than a thousand lines of reading: one is made, at the first text. */
let parser: AmpnetParser | undefined;

/**
 * Reads one `.ampnet` text.
 * @returns the tree of all that could be understood, and at most one problem for each line that could not.
 *   Ranges are offsets in UTF-16 code units. A problem where something is missing is empty, behind what stands before it.
 * @throws never, for any text
 */
export function parse(text: string): Tree {
  return atOnce(parseInSteps(text));
}

/** Tokens that are read without a stop: a few milliseconds' work once the program is warm. */
const PIECE = 1_500;

/**
 * The same in steps of a few milliseconds.
 * @param piece tokens between two stops, or as many more as it takes to where a line ends a statement
 */
export function* parseInSteps(text: string, piece = PIECE): InSteps<Tree> {
  const { tokens, problems } = yield* layOutInSteps(yield* tokenizeInSteps(text));
  return yield* treeInSteps(text, tokens, problems, piece);
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
  const tree = atOnce(treeInSteps(text, tokens, problems, PIECE));
  // What is told of something missing may stand behind the token before, and that is not here.
  const from = begins?.startOffset ?? 0;
  return tree.problems.every(({ range }) => range.start >= from) ? tree : undefined;
}

function* treeInSteps(
  text: string,
  tokens: IToken[],
  laidOut: readonly Found[],
  piece: number,
): InSteps<Tree> {
  const lineStarts = lineStartsOf(text);
  const statements: Statement[] = [];
  const wrong: Found[] = [];
  const told: Found[] = [];
  // Behind a line end at which no brace is open nothing is left of what stood before: the rest is read as a text of its own.
  let from = 0;
  let open = 0;
  for (let at = 0; at < tokens.length; at++) {
    const { tokenType } = tokens[at];
    if (tokenType === LineEnd) {
      if (open > 0 || at - from < piece || at === tokens.length - 1) continue;
      read(text, tokens.slice(from, at + 1), statements, wrong, told);
      from = at + 1;
      yield;
    } else if (opening.has(tokenType)) open++;
    else if (closing.has(tokenType)) open--;
  }
  read(text, from === 0 ? tokens : tokens.slice(from), statements, wrong, told);
  return { statements, problems: onePerLine(laidOut, [...wrong, ...told], lineStarts), lineStarts };
}

function read(text: string, tokens: IToken[], statements: Statement[], wrong: Found[], told: Found[]): void {
  parser ??= new AmpnetParser();
  parser.source = text;
  parser.problems = [];
  parser.input = tokens;
  for (const statement of parser.file()) statements.push(statement);
  for (const error of parser.errors) wrong.push(problemOf(error));
  for (const problem of parser.problems) told.push(problem);
  // Nothing of one text is kept alive until the next.
  parser.input = [];
  parser.source = "";
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
