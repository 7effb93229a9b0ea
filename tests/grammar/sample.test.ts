import { readFileSync } from "node:fs";
import { createToken, Lexer } from "chevrotain";
import { describe, expect, it } from "vitest";
import { lexerTokens } from "../../grammar/lexer.ts";
import { parse } from "../../grammar/parse.ts";
import { AmpnetParser } from "../../grammar/parser.ts";

const sample = readFileSync(new URL("./wattlebird.ampnet", import.meta.url), "utf8");

describe("the whole sample of the language's definition", () => {
  const tree = parse(sample);

  it("parses without a problem", () => {
    expect(tree.problems).toEqual([]);
  });

  it("gives one statement for each that is written", () => {
    const count: Record<string, number> = {};
    for (const statement of tree.statements) count[statement.node] = (count[statement.node] ?? 0) + 1;
    expect(count).toEqual({ amp: 1, mains: 1, part: 9, path: 24, measured: 2, waive: 1 });
  });

  it("keeps the range of every statement", () => {
    for (const statement of tree.statements) {
      const text = sample.slice(statement.range.start, statement.range.end);
      expect(text).toMatch(/^\S[\s\S]*\S$/);
      expect(parse(text).statements).toHaveLength(1);
    }
  });
});

it("the grammar itself is sound: no rule is ambiguous, endless or out of reach", () => {
  expect(() => new AmpnetParser(true)).not.toThrow();
});

it("the tokens are sound: none is out of reach, empty or without an end", () => {
  const { lexerDefinitionErrors } = new Lexer(lexerTokens, {
    positionTracking: "onlyOffset",
  });
  expect(lexerDefinitionErrors).toEqual([]);
  const empty = createToken({ name: "Empty", pattern: /x*/ });
  expect(() => new Lexer([...lexerTokens, empty])).toThrow(/Empty/);
});
