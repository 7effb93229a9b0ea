/** Token types that a token takes from its place in the text; `layout.ts` gives them out. */
import { createToken, type TokenType } from "chevrotain";
import { kinds } from "./names.ts";

const place = (name: string): TokenType => createToken({ name });

// First words of statements.
export const Amp = place("Amp");
export const MainsWord = place("MainsWord");
export const Metal = place("Metal");
export const Assume = place("Assume");
export const Measured = place("Measured");
export const Waive = place("Waive");
export const Include = place("Include");
export const BlockWord = place("BlockWord");
export const Use = place("Use");
export const Kind = place("Kind");
/** A net that begins a path. */
export const FirstNet = place("FirstNet");
/** Anything else that begins a line. */
export const Unknown = place("Unknown");

// Words with a meaning inside one statement.
export const On = place("On");
export const Because = place("Because");
export const Until = place("Until");
export const Across = place("Across");
export const At = place("At");
export const As = place("As");

// Braces and what separates the things between them.
export const BodyOpen = place("BodyOpen");
export const BodyClose = place("BodyClose");
export const RowOpen = place("RowOpen");
export const RowClose = place("RowClose");
export const BlockOpen = place("BlockOpen");
export const BlockClose = place("BlockClose");
export const Separator = place("Separator");
export const RowSeparator = place("RowSeparator");
/** A word directly before `:`. */
export const TerminalName = place("TerminalName");
export const RowName = place("RowName");
/** Something that cannot begin an item. */
export const WrongItem = place("WrongItem");

/** What a word begins, where it is the first of its line. */
export const firstWordTypes: ReadonlyMap<string, TokenType> = new Map<string, TokenType>([
  ["amp", Amp],
  ["mains", MainsWord],
  ["metal", Metal],
  ["assume", Assume],
  ["measured", Measured],
  ["waive", Waive],
  ["include", Include],
  ["block", BlockWord],
  ["use", Use],
  ...kinds.map((kind): [string, TokenType] => [kind, Kind]),
]);

/** Words with a meaning of their own behind such a first word. */
export const laterWordTypes: ReadonlyMap<TokenType, ReadonlyMap<string, TokenType>> = new Map([
  [
    Waive,
    new Map([
      ["on", On],
      ["because", Because],
      ["until", Until],
    ]),
  ],
  [
    Measured,
    new Map([
      ["across", Across],
      ["at", At],
    ]),
  ],
  [Use, new Map([["as", As]])],
]);
