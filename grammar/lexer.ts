/**
 * Text to tokens. Every character lands in some token, so lexing cannot fail; what a word means (a keyword, a net, a value)
 * depends on where it stands and is decided in `layout.ts`.
 */
import { createToken, type IToken, Lexer, type TokenType } from "chevrotain";
import type { InSteps } from "./in-steps.ts";

/** Blanks of any sort, a byte-order mark included. Line ends are not blanks here. */
export const Blank = createToken({ name: "Blank", pattern: /[^\S\r\n]+/, group: Lexer.SKIPPED });
export const Comment = createToken({ name: "Comment", pattern: /#[^\r\n]*/, group: Lexer.SKIPPED });
/** One or more line ends with nothing but blanks and comments between them: one token, so that none is looked at twice. */
export const LineEnd = createToken({
  name: "LineEnd",
  // By hand: a pattern that repeats a group keeps a place to go back to for each line, and a million blank lines are too many.
  pattern: (text, from) => {
    const to = behindLineEnds(text, from);
    return to === from ? null : [text.slice(from, to)];
  },
  start_chars_hint: ["\r", "\n"],
  line_breaks: true,
});

const CR = 13;
const LF = 10;
const HASH = 35;

function behindLineEnds(text: string, from: number): number {
  let end = from;
  for (let at = from; ; ) {
    const code = text.charCodeAt(at);
    if (code !== CR && code !== LF) return end;
    at += code === CR && text.charCodeAt(at + 1) === LF ? 2 : 1;
    end = at;
    // Blanks and a comment belong to it where another line end follows them.
    while (isBlank(text, at)) at++;
    if (text.charCodeAt(at) === HASH) while (at < text.length && !isLineEnd(text.charCodeAt(at))) at++;
  }
}

const isLineEnd = (code: number) => code === CR || code === LF;

function isBlank(text: string, at: number): boolean {
  const code = text.charCodeAt(at);
  if (code === 32 || code === 9) return true;
  return (code < 33 || code > 127) && !isLineEnd(code) && /\s/.test(text.charAt(at));
}
export const Dashes = createToken({ name: "Dashes", pattern: /--+/ });
export const CurlyOpen = createToken({ name: "CurlyOpen", pattern: "{" });
export const CurlyClose = createToken({ name: "CurlyClose", pattern: "}" });
export const RoundOpen = createToken({ name: "RoundOpen", pattern: "(" });
export const RoundClose = createToken({ name: "RoundClose", pattern: ")" });
export const Comma = createToken({ name: "Comma", pattern: "," });
export const Colon = createToken({ name: "Colon", pattern: ":" });
export const Text = createToken({ name: "Text", pattern: /"[^"\r\n]*"/ });
/** A quotation mark without its partner on the same line. */
export const OpenText = createToken({ name: "OpenText", pattern: /"[^"\r\n]*/ });
/** Any other run of characters: `12AX7`, `290-0-290V`, `B+2`, `green-yellow`. `--` always ends it, a single `-` does not. */
export const Word = createToken({ name: "Word", pattern: /(?:[^\s{}(),:#"-]|-(?!-))+/ });

/** In the order in which they are tried. */
export const lexerTokens = [
  Blank,
  Word,
  LineEnd,
  Dashes,
  Comma,
  Colon,
  CurlyOpen,
  CurlyClose,
  Comment,
  RoundOpen,
  RoundClose,
  Text,
  OpenText,
];

// That the tokens are sound a test finds out once; a program need not at every start. Nor does it pay to sort so few patterns by
// their first characters: that costs a start more than it saves a file.
const lexer = new Lexer(lexerTokens, {
  positionTracking: "onlyOffset",
  skipValidations: true,
  safeMode: true,
});

/** All tokens of a text but blanks and comments, in order. Never fails. */
export function tokenize(text: string): IToken[] {
  return lexer.tokenize(text).tokens;
}

/** Characters that are read without a stop: a few milliseconds' work. */
const PIECE = 16_000;

/** The same with stops in between. @param piece characters between two stops, or as many more as the line goes on */
export function* tokenizeInSteps(text: string, piece = PIECE): InSteps<IToken[]> {
  if (text.length <= piece) return tokenize(text);
  const tokens: IToken[] = [];
  for (let from = 0; from < text.length; ) {
    const to = lineFrom(text, from + piece);
    for (const token of tokenize(text.slice(from, to))) {
      token.startOffset += from;
      tokens.push(token);
    }
    from = to;
    yield;
  }
  return tokens;
}

/** The next line from an offset on that begins with a word or a mark: the line ends before it are one token, and end there. */
function lineFrom(text: string, offset: number): number {
  for (let feed = text.indexOf("\n", offset); feed >= 0; feed = text.indexOf("\n", feed + 1)) {
    const at = feed + 1;
    const code = text.charCodeAt(at);
    if (at < text.length && code !== HASH && !isLineEnd(code) && !isBlank(text, at)) return at;
  }
  return text.length;
}

/** Offset behind a token's last character. */
export function endOf(token: IToken): number {
  return token.startOffset + token.image.length;
}

/** Tokens take their final type from their place; see `layout.ts`. */
export function retype(token: IToken, type: TokenType): void {
  token.tokenType = type;
  token.tokenTypeIdx = type.tokenTypeIdx!;
}
