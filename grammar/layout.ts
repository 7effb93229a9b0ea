/**
 * Gives every token the meaning of its place: which word begins a statement, which line end ends one, which brace opens a
 * part's body, a row in it, or a block of statements. After this pass each line and each item can be told from its first
 * token alone, and braces are in pairs: a missing `}` has been put in where the text shows that it must have ended, so
 * that an unclosed brace costs its own statement and not the rest of the file.
 */
import { createTokenInstance, type IToken, type TokenType } from "chevrotain";
import { atOnce, type InSteps } from "./in-steps.ts";
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
  retype,
  Text,
  Word,
} from "./lexer.ts";
import { factWords, isReferenceShape } from "./names.ts";
import {
  BlockClose,
  BlockOpen,
  BlockWord,
  BodyClose,
  BodyOpen,
  FirstNet,
  firstWordTypes,
  Kind,
  laterWordTypes,
  RowClose,
  RowName,
  RowOpen,
  RowSeparator,
  Separator,
  TerminalName,
  Unknown,
  WrongItem,
} from "./places.ts";

export interface LayoutProblem {
  readonly message: string;
  readonly start: number;
  readonly end: number;
}

export interface Layout {
  readonly tokens: IToken[];
  readonly problems: readonly LayoutProblem[];
}

interface Brace {
  readonly level: "body" | "row" | "block";
  readonly open: IToken;
  /** Column of the statement that it belongs to, and of the line that it is on. */
  readonly column: number;
  readonly lineColumn: number;
  /** A block's body is indented: then a line further left can show that its `}` is missing. */
  indented?: boolean;
}

/** @param tokens as `tokenize` gives them; they are retyped in place. */
export function* layOutInSteps(tokens: readonly IToken[]): InSteps<Layout> {
  return yield* new Pass(tokens).run();
}

/** The same at once. */
export function layOut(tokens: readonly IToken[]): Layout {
  return atOnce(layOutInSteps(tokens));
}

/** Tokens that are laid out without a stop: a millisecond's work or two. */
const PIECE = 8_000;

function isLineBreak(token: IToken): boolean {
  return token.image.startsWith("\n") || token.image.startsWith("\r");
}

class Pass {
  private readonly out: IToken[] = [];
  private readonly problems: LayoutProblem[] = [];
  private readonly stack: Brace[] = [];
  /** Innermost open brace, and what it is. */
  private top: Brace | undefined;
  private level: Brace["level"] | "file" = "file";
  /** Unmatched `}` from each token to the end; made when first asked for. */
  private closersLeft?: Int32Array;
  private index = 0;
  private lineStart = 0;
  /** Column of the first token on the line. */
  private lineColumn = 0;
  /** The next token begins a statement, or an item. */
  private fresh = true;
  /** First token of the statement being laid out, and its type. */
  private first?: IToken;
  private column = 0;
  private later?: ReadonlyMap<string, TokenType>;
  private bodyDone = false;
  private roundDepth = 0;

  constructor(private readonly tokens: readonly IToken[]) {}

  *run(): InSteps<Layout> {
    for (let stop = PIECE; this.index < this.tokens.length; this.index++) {
      this.one(this.tokens[this.index]);
      if (this.index < stop) continue;
      stop = this.index + PIECE;
      yield;
    }
    while (this.stack.length > 0) this.closeUnclosed();
    this.endLastLine();
    return { tokens: this.out, problems: this.problems };
  }

  /** The last line has an end too, so that a mistake on it is put right as on any other. */
  private endLastLine(): void {
    const last = this.out[this.out.length - 1];
    if (!last || last.tokenType === LineEnd) return;
    this.out.push(createTokenInstance(LineEnd, "", endOf(last), endOf(last), NaN, NaN, NaN, NaN));
  }

  private one(token: IToken): void {
    switch (token.tokenType) {
      case LineEnd:
        this.lineEnd(token);
        break;
      case CurlyOpen:
        this.open(token);
        break;
      case CurlyClose:
        this.close(token);
        break;
      case Comma:
        this.comma(token);
        break;
      default:
        this.other(token);
    }
  }

  // ── line ends ────────────────────────────────────────────────
  private lineEnd(token: IToken): void {
    const next = this.tokens[this.index + 1];
    const start = endOf(token);
    if (next) {
      this.lineColumn = next.startOffset - start;
      this.endUnclosed(next, this.lineColumn);
    }
    const level = this.level;
    if (level === "file" || level === "block") {
      // A path goes on when the next line begins with `--`.
      if (next?.tokenType === Dashes && !this.fresh) return;
      if (
        next?.tokenType === CurlyOpen &&
        (this.first?.tokenType === Kind || this.first?.tokenType === BlockWord) &&
        !this.bodyDone
      ) {
        this.problems.push({
          message: "A { belongs at the end of the line that it opens: a statement ends with its line.",
          start: next.startOffset,
          end: endOf(next),
        });
        return;
      }
      this.newStatement(start);
    } else {
      retype(token, level === "row" ? RowSeparator : Separator);
      this.fresh = true;
      this.lineStart = start;
    }
    this.out.push(token);
  }

  private newStatement(lineStart: number): void {
    this.fresh = true;
    this.first = undefined;
    this.later = undefined;
    this.bodyDone = false;
    this.roundDepth = 0;
    this.lineStart = lineStart;
  }

  /** Before a line that cannot stand inside the open braces, puts in the `}` that is missing. */
  private endUnclosed(next: IToken, column: number): void {
    if (this.stack.length === 0) return;
    if (next.tokenType === CurlyClose) {
      // A } further left than the line of the innermost { is the one of an outer {, if there are too few.
      const closers = column < this.top!.lineColumn ? this.closersFrom(this.index + 1) : this.stack.length;
      while (this.stack.length > Math.max(1, closers) && column < this.top!.lineColumn) this.closeUnclosed();
      return;
    }
    const isStatement = this.level !== "block" && this.standsAsStatement(this.index + 1);
    for (let top = this.top; top && column <= top.column; top = this.top) {
      const ends =
        top.level === "block" ? top.indented === true && this.closersFrom(this.index + 1) === 0 : isStatement;
      if (!ends) break;
      this.closeUnclosed();
    }
    // A row inside a row cannot stand: the row above was never closed.
    if (this.level === "row" && this.beginsRow(this.index + 1)) this.closeUnclosed();
  }

  private pop(): Brace | undefined {
    const brace = this.stack.pop();
    this.top = this.stack[this.stack.length - 1];
    this.level = this.top?.level ?? "file";
    return brace;
  }

  private closeUnclosed(): void {
    const brace = this.pop()!;
    this.problems.push({
      message: "This { is never closed: expected } after its last item.",
      start: brace.open.startOffset,
      end: endOf(brace.open),
    });
    const type = brace.level === "body" ? BodyClose : brace.level === "row" ? RowClose : BlockClose;
    let before = this.out.length - 1;
    while (isLineBreak(this.out[before])) before--;
    const offset = endOf(this.out[before]);
    this.out.push(createTokenInstance(type, "", offset, offset, NaN, NaN, NaN, NaN));
    this.bodyDone = true;
  }

  /** Can the line that begins at this token only be a statement, never an item of a part's body? */
  private standsAsStatement(index: number): boolean {
    const token = this.tokens[index];
    const next = this.tokens[index + 1];
    if (token.tokenType !== Word || !next) return false;
    if (this.dashesFollow(index)) return true;
    if (next.tokenType === Colon) return false;
    const type = firstWordTypes.get(token.image);
    if (type === undefined) return false;
    if (type === Kind) {
      return next.tokenType === Word && isReferenceShape(next.image) && !factWords.has(next.image);
    }
    if (type === BlockWord) return this.tokens[index + 2]?.tokenType === RoundOpen;
    return next.tokenType === Text || (next.tokenType === Word && !this.lineHolds(index, CurlyOpen));
  }

  private beginsRow(index: number): boolean {
    return (
      this.tokens[index]?.tokenType === Word &&
      this.tokens[index + 1]?.tokenType !== Colon &&
      this.lineHolds(index, CurlyOpen)
    );
  }

  private lineHolds(index: number, type: TokenType): boolean {
    for (let at = index; at < this.tokens.length; at++) {
      const one = this.tokens[at].tokenType;
      if (one === type) return true;
      if (one === LineEnd || one === CurlyClose) return false;
    }
    return false;
  }

  private closersFrom(index: number): number {
    if (!this.closersLeft) {
      const left = new Int32Array(this.tokens.length + 1);
      for (let at = this.tokens.length - 1; at >= 0; at--) {
        const type = this.tokens[at].tokenType;
        left[at] =
          type === CurlyClose
            ? left[at + 1] + 1
            : type === CurlyOpen || type === BodyOpen || type === RowOpen || type === BlockOpen
              ? Math.max(0, left[at + 1] - 1)
              : left[at + 1];
      }
      this.closersLeft = left;
    }
    return this.closersLeft[index];
  }

  // ── braces ───────────────────────────────────────────────────
  private open(token: IToken): void {
    const level = this.level;
    if (level === "row") {
      this.skipDeep(token);
      return;
    }
    if (level === "body") {
      this.push(token, "row", RowOpen);
      return;
    }
    if (this.fresh) this.begin(token);
    // A block in a block is a mistake that the parser tells; deeper still, what is in it is not read at all.
    const isBlock = this.first?.tokenType === BlockWord && this.stack.length < 2;
    this.push(token, isBlock ? "block" : "body", isBlock ? BlockOpen : BodyOpen);
  }

  private push(token: IToken, level: Brace["level"], type: TokenType): void {
    const column = this.top && level === "row" ? this.top.column : this.column;
    this.top = { level, open: token, column, lineColumn: this.lineColumn };
    this.level = level;
    this.stack.push(this.top);
    retype(token, type);
    this.out.push(token);
    if (level === "block") this.newStatement(this.lineStart);
    this.fresh = true;
  }

  private skipDeep(token: IToken): void {
    this.problems.push({
      message: "Braces go two deep at most: a part's block, and a winding, section or pole in it.",
      start: token.startOffset,
      end: endOf(token),
    });
    let depth = 1;
    for (let at = this.index + 1; at < this.tokens.length; at++) {
      const type = this.tokens[at].tokenType;
      if (type === LineEnd) {
        this.index = at - 1;
        return;
      }
      if (type === CurlyOpen) depth++;
      if (type === CurlyClose && --depth === 0) {
        this.index = at;
        return;
      }
    }
    this.index = this.tokens.length;
  }

  private close(token: IToken): void {
    const brace = this.pop();
    if (!brace) {
      this.problems.push({
        message: "This } closes nothing: there is no open { before it.",
        start: token.startOffset,
        end: endOf(token),
      });
      return;
    }
    retype(token, brace.level === "body" ? BodyClose : brace.level === "row" ? RowClose : BlockClose);
    this.out.push(token);
    this.fresh = brace.level === "row";
    if (brace.level !== "row") this.bodyDone = true;
    if (brace.level === "block") this.first = token;
  }

  // ── words and marks ──────────────────────────────────────────
  private comma(token: IToken): void {
    const level = this.level;
    if (level === "body" || level === "row") {
      retype(token, level === "row" ? RowSeparator : Separator);
      this.fresh = true;
    } else if (level === "block" && this.roundDepth === 0 && !this.fresh) {
      retype(token, LineEnd);
      this.newStatement(this.lineStart);
    } else if (this.fresh) {
      this.begin(token);
    }
    this.out.push(token);
  }

  private other(token: IToken): void {
    const level = this.level;
    if (level === "body" || level === "row") {
      const next = this.tokens[this.index + 1];
      if (token.tokenType === Word && next?.tokenType === Colon) retype(token, TerminalName);
      else if (level === "body" && this.fresh) retype(token, token.tokenType === Word ? RowName : WrongItem);
      this.fresh = false;
    } else if (this.fresh) {
      this.begin(token);
    } else if (token.tokenType === Word) {
      const type = this.later?.get(token.image);
      if (type) retype(token, type);
    } else if (token.tokenType === RoundOpen) this.roundDepth++;
    else if (token.tokenType === RoundClose && this.roundDepth > 0) this.roundDepth--;
    this.out.push(token);
  }

  /** Types the first token of a statement. */
  private begin(token: IToken): void {
    this.fresh = false;
    this.first = token;
    this.column = token.startOffset - this.lineStart;
    const block = this.top;
    if (block && block.indented === undefined) block.indented = this.column > block.column;
    if (token.tokenType !== Word) {
      if (token.tokenType !== CurlyOpen) retype(token, Unknown);
      return;
    }
    const type = this.dashesFollow(this.index) ? FirstNet : firstWordTypes.get(token.image);
    if (type) {
      retype(token, type);
      this.later = laterWordTypes.get(type);
    } else retype(token, this.pathFollows() ? FirstNet : Unknown);
  }

  /** Does `--` stand behind this token, on its line or at the beginning of the next? */
  private dashesFollow(index: number): boolean {
    const next = this.tokens[index + 1]?.tokenType;
    return next === Dashes || (next === LineEnd && this.tokens[index + 2]?.tokenType === Dashes);
  }

  /** A line with `--` further on is meant as a path, though one has been left out before. */
  private pathFollows(): boolean {
    for (let at = this.index + 1; at < this.tokens.length; at++) {
      const type = this.tokens[at].tokenType;
      if (type === Dashes) return true;
      if (type === LineEnd) return this.tokens[at + 1]?.tokenType === Dashes;
      if (type === CurlyOpen || type === CurlyClose) return false;
    }
    return false;
  }
}
