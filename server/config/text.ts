/** What reading JSON as a person writes it needs everywhere: values, and mistakes in words. */
import { getNodeValue, type Node, type ParseError, printParseErrorCode } from "jsonc-parser";

export const jsonValue = (node: Node): unknown => getNodeValue(node);

export function syntaxProblems<P>(
  errors: readonly ParseError[],
  problem: (from: number, length: number, message: string) => P,
): P[] {
  return errors.map(({ error, offset, length }) =>
    problem(offset, length, syntaxMessage(printParseErrorCode(error))),
  );
}

/** `CommaExpected` -> `a comma was expected here`. */
function syntaxMessage(code: string): string {
  const words: Readonly<Record<string, string>> = {
    InvalidSymbol: "not a word of JSON; text stands in double quotes",
    InvalidNumberFormat: "not a number",
    PropertyNameExpected: "a setting's name in double quotes was expected here",
    ValueExpected: "a value was expected here",
    ColonExpected: "a colon was expected here",
    CommaExpected: "a comma was expected here",
    CloseBraceExpected: "a closing brace } was expected here",
    CloseBracketExpected: "a closing bracket ] was expected here",
    EndOfFileExpected: "the file was expected to end here",
    UnexpectedEndOfString: "the text is not ended by a double quote",
    UnexpectedEndOfComment: "the comment is not ended",
    InvalidEscapeCharacter: "no escape that JSON knows",
    InvalidCharacter: "a character that JSON doesn't allow here",
  };
  return words[code] ?? `not JSON (${code})`;
}
