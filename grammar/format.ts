/**
 * Lays a text out evenly: blanks and indents only. Every line stays a line of its own, comments and blank lines stay where
 * they are, and a line with a mistake on it is left exactly as it was typed.
 */
import type { IToken } from "chevrotain";
import { layOut } from "./layout.ts";
import {
  Colon,
  Comma,
  CurlyClose,
  CurlyOpen,
  Dashes,
  endOf,
  LineEnd,
  RoundClose,
  RoundOpen,
  tokenize,
  Word,
} from "./lexer.ts";
import { parse } from "./parse.ts";
import { lineAt, lineEndOf } from "./positions.ts";

const indentWidth = 2;
/** Lines longer than this do not push the comments beside them to the right, nor names longer than this their `--`. */
const longestAligned = 88;
const longestName = 16;

interface Line {
  readonly tokens: IToken[];
  /** With its `#`; empty where there is none. */
  comment: string;
  /** As typed, without its line end. */
  readonly source: string;
  /** `\n`, `\r\n`, `\r`, or nothing on the last line. */
  readonly lineEnd: string;
  readonly isWrong: boolean;
  depth: number;
  level: "file" | "block" | "body" | "row";
  code: string;
}

/**
 * Formats one text. Applying it twice gives the same as once; the tokens, and so the circuit, stay the same.
 * Where braces are not in pairs, what is inside what is a guess: each line then keeps its own indent.
 * @throws never, for any text
 */
export function format(text: string): string {
  const lines = readLines(text);
  indent(lines);
  // A brace that had to be put in or passed over was judged by the indents: they have to stay.
  const isSound = layOut(tokenize(text)).problems.length === 0;
  for (const line of lines) line.code = joined(line.tokens);
  alignRuns(lines, pathShape, alignPaths);
  alignRuns(lines, terminalShape, alignTerminals);
  alignRuns(lines, rowShape, alignRows);
  for (const line of lines) {
    const own = /^[^\S\r\n]*/.exec(line.source)![0].replaceAll("\uFEFF", "");
    line.code = (isSound ? " ".repeat(line.depth * indentWidth) : own) + line.code;
  }
  alignComments(lines);
  return assemble(text, lines);
}

function readLines(text: string): Line[] {
  const { lineStarts, problems } = parse(text);
  const wrong = new Set<number>();
  for (const { range } of problems) {
    for (let line = lineAt(lineStarts, range.start); line <= lineAt(lineStarts, range.end); line++)
      wrong.add(line);
  }
  const lines = lineStarts.map((start, index): Line => {
    const end = lineEndOf(lineStarts, index, text);
    const source = text.slice(start, end);
    const lineEnd = text.slice(end, lineStarts[index + 1] ?? text.length);
    const comment = source.trim().startsWith("#") ? source.trim() : "";
    return {
      tokens: [],
      comment,
      source,
      lineEnd,
      isWrong: wrong.has(index),
      depth: 0,
      level: "file",
      code: "",
    };
  });
  let at = 0;
  for (const token of tokenize(text)) {
    if (token.tokenType === LineEnd) continue;
    while (at + 1 < lineStarts.length && lineStarts[at + 1] <= token.startOffset) at++;
    lines[at].tokens.push(token);
  }
  lines.forEach((line, index) => {
    const last = line.tokens[line.tokens.length - 1];
    if (last) line.comment = line.source.slice(endOf(last) - lineStarts[index]).trim();
  });
  return lines;
}

/** Sets every line's depth and level. */
function indent(lines: readonly Line[]): void {
  const stack: Line["level"][] = [];
  const followers = nextCodeLines(lines);
  let first: IToken | undefined;
  for (let index = 0; index < lines.length; index++) {
    const line = lines[index];
    let leading = 0;
    while (line.tokens[leading]?.tokenType === CurlyClose) leading++;
    line.level = stack[stack.length - 1] ?? "file";
    line.depth = Math.max(0, stack.length - leading);
    const continues = line.level === "file" || line.level === "block";
    if (continues && first && followers[index]?.tokens[0].tokenType === Dashes) {
      if (line.tokens.length > 0 || line.comment !== "") line.depth++;
    } else if (line.tokens.length > 0) first = line.tokens[0];
    for (const token of line.tokens) {
      if (token.tokenType === CurlyOpen) {
        const level = stack[stack.length - 1] ?? "file";
        const isOuter = level === "file" || level === "block";
        stack.push(isOuter ? (first?.image === "block" ? "block" : "body") : "row");
        if (stack[stack.length - 1] === "block") first = undefined;
      } else if (token.tokenType === CurlyClose) stack.pop();
      else first ??= token;
    }
  }
}

/** For each line, itself if it has tokens, else the next that has. */
function nextCodeLines(lines: readonly Line[]): readonly (Line | undefined)[] {
  const next: (Line | undefined)[] = [];
  let found: Line | undefined;
  for (let index = lines.length - 1; index >= 0; index--) {
    if (lines[index].tokens.length > 0) found = lines[index];
    next[index] = found;
  }
  return next;
}

/** Tokens of one line with the blanks that belong between them. */
function joined(tokens: readonly IToken[]): string {
  let code = "";
  for (let index = 0; index < tokens.length; index++) {
    const token = tokens[index];
    if (index > 0 && needsBlank(tokens[index - 1], token)) code += " ";
    code += token.image;
  }
  return code.trimEnd();
}

function needsBlank(before: IToken, token: IToken): boolean {
  const type = token.tokenType;
  if (type === Comma || type === Colon || type === RoundClose) return false;
  if (type === RoundOpen && before.tokenType === Word) return false;
  return before.tokenType !== RoundOpen;
}

// ── neighbouring lines ─────────────────────────────────────────
type Shape = (line: Line) => boolean;

function alignRuns(lines: readonly Line[], shape: Shape, align: (run: readonly Line[]) => void): void {
  let run: Line[] = [];
  for (const line of [...lines, undefined]) {
    if (line && !line.isWrong && shape(line) && (run.length === 0 || run[0].depth === line.depth))
      run.push(line);
    else {
      if (run.length > 1) align(run);
      run = line && !line.isWrong && shape(line) ? [line] : [];
    }
  }
}

/** `net -- …` */
const pathShape: Shape = ({ tokens, level }) =>
  (level === "file" || level === "block") && tokens[0]?.tokenType === Word && tokens[1]?.tokenType === Dashes;

function alignPaths(run: readonly Line[]): void {
  const names = run.map((line) => line.tokens[0].image);
  const width = longest(names, (name) => (name.length > longestName ? 0 : name.length));
  run.forEach((line, index) => {
    line.code = `${names[index].padEnd(width)} ${joined(line.tokens.slice(1))}`;
  });
}

/** One `terminal: net facts` on the line. */
const terminalShape: Shape = ({ tokens, level }) =>
  (level === "body" || level === "row") &&
  tokens[0]?.tokenType === Word &&
  tokens[1]?.tokenType === Colon &&
  tokens
    .slice(2)
    .every(
      ({ tokenType }, index) => tokenType === Word || (tokenType === Comma && index === tokens.length - 3),
    );

/** Terminals, nets and facts in columns; a column of values ends evenly, so that the units stand below each other. */
function alignTerminals(run: readonly Line[]): void {
  const rows = run.map(({ tokens }) => {
    const words = tokens.slice(2).filter(({ tokenType }) => tokenType === Word);
    return [`${tokens[0].image}:`, ...words.map(({ image }) => image)];
  });
  const columns = longest(rows, (row) => row.length);
  for (let column = 0; column < columns; column++) {
    const cells = rows.map((row) => row[column]).filter((cell) => cell !== undefined);
    const width = longest(cells, (cell) => cell.length);
    const areValues = column > 1 && cells.every((cell) => /^[+\-−±]?[\d.½¼¾]/u.test(cell));
    for (const row of rows) {
      if (row[column] !== undefined)
        row[column] = areValues ? row[column].padStart(width) : row[column].padEnd(width);
    }
  }
  run.forEach((line, index) => {
    const comma = line.tokens[line.tokens.length - 1].tokenType === Comma ? "," : "";
    line.code = rows[index].join(" ").trimEnd() + comma;
  });
}

/** One whole `name facts { … }` on the line. */
const rowShape: Shape = ({ tokens, level }) => {
  if (level !== "body" || tokens[0]?.tokenType !== Word) return false;
  const open = tokens.findIndex(({ tokenType }) => tokenType === CurlyOpen);
  const close = tokens.findIndex(({ tokenType }) => tokenType === CurlyClose);
  return (
    open > 0 &&
    tokens.slice(0, open).every(({ tokenType }) => tokenType === Word) &&
    (close === tokens.length - 1 || (close === tokens.length - 2 && tokens[close + 1].tokenType === Comma))
  );
};

function alignRows(run: readonly Line[]): void {
  const rows = run.map(({ tokens }) => {
    const open = tokens.findIndex(({ tokenType }) => tokenType === CurlyOpen);
    return [tokens[0].image, joined(tokens.slice(1, open)), joined(tokens.slice(open))];
  });
  const names = longest(rows, ([name]) => name.length);
  const facts = longest(rows, ([, fact]) => fact.length);
  run.forEach((line, index) => {
    const [name, fact, block] = rows[index];
    line.code = [name.padEnd(names), ...(facts > 0 ? [fact.padEnd(facts)] : []), block].join(" ");
  });
}

/** Comments behind neighbouring lines begin in one column, two blanks behind the longest line at least. */
function alignComments(lines: readonly Line[]): void {
  let run: Line[] = [];
  for (const line of [...lines, undefined]) {
    if (line && !line.isWrong && line.comment !== "" && line.tokens.length > 0) {
      run.push(line);
      continue;
    }
    const width = Math.max(0, ...run.map(({ code }) => (code.length > longestAligned ? 0 : code.length)));
    for (const one of run) one.code = `${one.code.padEnd(width)}  ${one.comment}`;
    run = [];
    if (line && line.tokens.length === 0) line.code = line.comment === "" ? "" : line.code + line.comment;
  }
}

function assemble(text: string, lines: readonly Line[]): string {
  const mark = text.startsWith("\uFEFF") ? "\uFEFF" : "";
  let formatted = "";
  lines.forEach((line, index) => {
    // Without its blank, a line between `\r` and `\n` would make one line end of the two.
    const parts = line.code === "" && line.lineEnd === "\n" && formatted.endsWith("\r");
    formatted += line.isWrong || parts ? line.source : (index === 0 ? mark : "") + line.code;
    formatted += line.lineEnd;
  });
  if (formatted !== "" && !/[\r\n]$/.test(formatted)) formatted += lines[0].lineEnd || "\n";
  return formatted;
}

/** By a loop: a file may have more lines than a call takes arguments. */
function longest<T>(list: readonly T[], lengthOf: (one: T) => number): number {
  let most = 0;
  for (const one of list) most = Math.max(most, lengthOf(one));
  return most;
}
