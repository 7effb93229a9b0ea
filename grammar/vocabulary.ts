/** Every token type of the grammar, and the sets of those that end something. */
import { EOF, type TokenType } from "chevrotain";
import {
  Blank,
  Colon,
  Comma,
  Comment,
  CurlyClose,
  CurlyOpen,
  Dashes,
  LineEnd,
  OpenText,
  RoundClose,
  RoundOpen,
  Text,
  Word as WordToken,
} from "./lexer.ts";
import * as L from "./places.ts";

export const vocabulary: TokenType[] = [
  ...[
    Blank,
    Comment,
    LineEnd,
    Dashes,
    CurlyOpen,
    CurlyClose,
    RoundOpen,
    RoundClose,
    Comma,
    Colon,
    Text,
    OpenText,
  ],
  WordToken,
  ...[L.Amp, L.MainsWord, L.Metal, L.Assume, L.Measured, L.Waive, L.Include, L.BlockWord, L.Use, L.Kind],
  ...[L.FirstNet, L.Unknown, L.On, L.Because, L.Until, L.Across, L.At, L.As],
  ...[L.BodyOpen, L.BodyClose, L.RowOpen, L.RowClose, L.BlockOpen, L.BlockClose, L.Separator, L.RowSeparator],
  ...[L.TerminalName, L.RowName, L.WrongItem],
];

export const lineEnders: ReadonlySet<TokenType> = new Set([LineEnd, L.BlockClose, EOF]);
export const itemEnders: ReadonlySet<TokenType> = new Set([L.Separator, L.BodyClose, EOF]);
export const rowItemEnders: ReadonlySet<TokenType> = new Set([L.RowSeparator, L.RowClose, EOF]);
/** What may stand behind a whole `terminal: net`; a further name means that only the comma is missing. */
export const terminalEnders: ReadonlySet<TokenType> = new Set([
  ...[...itemEnders, ...rowItemEnders],
  ...[L.TerminalName, L.RowName],
]);

/** Braces as they have been laid out: they are in pairs. */
export const opening: ReadonlySet<TokenType> = new Set([L.BodyOpen, L.RowOpen, L.BlockOpen]);
export const closing: ReadonlySet<TokenType> = new Set([L.BodyClose, L.RowClose, L.BlockClose]);
