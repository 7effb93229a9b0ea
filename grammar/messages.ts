/** What was expected where, in the trade's words. */
import type { IParserErrorMessageProvider, IToken } from "chevrotain";
import { EOF } from "chevrotain";
import { OpenText } from "./lexer.ts";
import { BlockClose, BodyClose } from "./places.ts";

/** By grammar rule, then by the expected token where a rule expects several. */
const expected: Readonly<Record<string, string | Readonly<Record<string, string>>>> = {
  amp: 'the amplifier\'s name in double quotes, such as amp "Wattlebird 18"',
  mains: "a voltage, a frequency and a region, such as mains 230 V 50 Hz AU",
  metal: "the net that the metal is, such as metal panel",
  assume: "what is assumed and its value, such as assume ambient 50C",
  include: 'a file name in double quotes, such as include "supply.ampnet"',
  measured: "a net, a terminal or a part and its reading, such as measured HT1 312V at mains 236V",
  waive: 'the rule to waive, such as waive rating/capacitor-voltage on C21 because "…"',
  waiveOn: "the part or net that it is waived for, such as on C21",
  waiveBecause: {
    Because: 'because and the reason in double quotes, such as because "630 V part on order"',
    Text: 'the reason in double quotes, such as because "630 V part on order"',
  },
  waiveUntil: "a date, such as until 2027-03-01",
  blockHeader: {
    Word: "the block's name, such as block gain(in, out, ht) {",
    RoundOpen: "( and the block's nets, such as block gain(in, out, ht) {",
    RoundClose: ") after the block's nets",
  },
  block: {
    BlockOpen: "{ and the block's statements, closed by }",
    BlockClose: "} after the block's last statement",
  },
  use: {
    Word: "the block's name, such as use gain(a, b, HT3) as N",
    RoundOpen: "( and the nets to pass, such as use gain(a, b, HT3) as N",
    RoundClose: ") after the nets that are passed",
    As: "as and a prefix, such as use gain(a, b, HT3) as N",
  },
  names: "a net's name",
  terminal: "the net that the terminal sits on, such as plate: p1",
  row: "a terminal and its net, such as plate: p1, or a row with its nets in braces, such as heater 6.3V 4A { h1 h2 }",
  item: "a terminal and its net, such as plate: p1, or a row with its nets in braces, such as heater 6.3V 4A { h1 h2 }",
  rowItem: "a net, or a terminal and its net such as plate: p1",
  part: "facts of the part, a { or the end of the line",
};

/** How a token is named in a message. */
export function shown(token: IToken): string {
  // An empty token was put in: the last line's end, or a } that is missing.
  if (token.tokenType === EOF || token.image === "" || /^[\r\n]/.test(token.image))
    return "the line ends here";
  if (token.tokenType === OpenText) return "this quotation mark has no partner on its line";
  if (token.tokenType === BodyClose || token.tokenType === BlockClose) return "the block ends here";
  return `found ${token.image}`;
}

export function expectedIn(rule: string, tokenName: string, actual: IToken): string {
  const entry = expected[rule];
  const text = typeof entry === "string" ? entry : entry?.[tokenName];
  return `Expected ${text ?? "something else here"}; ${shown(actual)}.`;
}

export const messageProvider: IParserErrorMessageProvider = {
  buildMismatchTokenMessage: ({ expected: type, actual, ruleName }) =>
    expectedIn(ruleName, type.name, actual),
  buildNotAllInputParsedMessage: ({ firstRedundant }) =>
    `Expected the end of the line; ${shown(firstRedundant)}.`,
  buildNoViableAltMessage: ({ actual, ruleName }) => expectedIn(ruleName, "", actual[0]),
  buildEarlyExitMessage: ({ actual, ruleName }) => expectedIn(ruleName, "Word", actual[0]),
};
