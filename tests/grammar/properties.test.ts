/** What holds for every text: nothing is thrown, ranges are sound, and a wrong line costs nothing but itself. */
import { readFileSync } from "node:fs";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { parse } from "../../grammar/parse.ts";
import { lineAt } from "../../grammar/positions.ts";
import type { Tree } from "../../grammar/tree.ts";
import { withoutRanges } from "./plain.ts";

const sample = readFileSync(new URL("./wattlebird.ampnet", import.meta.url), "utf8");
const stage = [
  "block gain(in, out, ht, v) {",
  "  in -- resistor R1 68k 0.5W -- g",
  "  valve v { plate: out, grid: g, cathode: k }",
  "  k -- resistor R2 1k5 0.5W",
  "    -- gnd",
  "}",
  "use gain(a, b, HT3, V1.a) as N",
  "switch S2 mains dpst 250V 6A {",
  "  1 { common: a, on: b }  2 { common: c, on: d }",
  "}",
  "",
].join("\n");
const whole = sample + stage;
const full = parse(whole);
const expected = full.statements.map((one) => ({ end: one.range.end, node: JSON.stringify(one) }));

interface Span {
  readonly start: number;
  readonly end: number;
}

/** Ranges lie in the text, end behind their beginning, and lie inside the node that holds them; a line has one problem. */
function expectSoundRanges(tree: Tree, text: string): void {
  const unsound: unknown[] = [];
  const visit = (value: unknown, within: Span): void => {
    if (typeof value !== "object" || value === null) return;
    if (Array.isArray(value)) {
      for (const inner of value) visit(inner, within);
      return;
    }
    const range = (value as { range?: Span }).range;
    if (range && !(range.start >= within.start && range.end <= within.end && range.end >= range.start))
      unsound.push(value);
    for (const [key, inner] of Object.entries(value)) if (key !== "range") visit(inner, range ?? within);
  };
  visit(tree.statements, { start: 0, end: text.length });
  visit(tree.problems, { start: 0, end: text.length });
  const lines = tree.problems.map(({ range }) => lineAt(tree.lineStarts, range.start));
  expect(unsound).toEqual([]);
  expect(new Set(lines).size).toBe(lines.length);
}

describe("nothing is thrown and every range is sound", () => {
  it("for every beginning of a file, which keeps the statements of the lines before the cut", () => {
    for (let length = 0; length <= whole.length; length++) {
      const text = whole.slice(0, length);
      const tree = parse(text);
      expectSoundRanges(tree, text);
      // A path may go on in the next line: the last one is whole only once that line has begun.
      const lineStart = whole.lastIndexOf("\n", length - 1) + 1;
      const kept = expected.filter(({ end }) => end <= lineStart);
      const same = kept.every(({ node }, index) => JSON.stringify(tree.statements[index]) === node);
      if (!same) expect(tree.statements).toEqual(full.statements.slice(0, kept.length));
    }
  });
  it("for the ends of a file", () => {
    for (let start = 0; start <= whole.length; start += 17) {
      const text = whole.slice(start);
      expectSoundRanges(parse(text), text);
    }
  });
  it("after random deletions", () => {
    const cut = fc.tuple(fc.nat(whole.length), fc.nat(40));
    fc.assert(
      fc.property(fc.array(cut, { minLength: 1, maxLength: 8 }), (cuts) => {
        let text = whole;
        for (const [at, length] of cuts) text = text.slice(0, at) + text.slice(at + length);
        expectSoundRanges(parse(text), text);
      }),
      { numRuns: 100 },
    );
  });
  it("after random insertions of the language's own marks", () => {
    const mark = fc.constantFrom(
      "{",
      "}",
      "(",
      ")",
      ",",
      ":",
      '"',
      "--",
      "-",
      "#",
      "\n",
      "\r",
      "block b(",
      "use ",
      " at ",
      "½",
    );
    fc.assert(
      fc.property(
        fc.array(fc.tuple(fc.nat(whole.length), mark), { minLength: 1, maxLength: 12 }),
        (marks) => {
          let text = whole;
          for (const [at, one] of marks) text = text.slice(0, at) + one + text.slice(at);
          expectSoundRanges(parse(text), text);
        },
      ),
      { numRuns: 100 },
    );
  });
  it("for random text, and random words of the language", () => {
    fc.assert(
      fc.property(fc.string({ unit: "binary", maxLength: 200 }), (text) =>
        expectSoundRanges(parse(text), text),
      ),
      { numRuns: 150 },
    );
    const words = [...new Set(whole.split(/([\s{}(),:]+)/))].filter(Boolean);
    fc.assert(
      fc.property(fc.array(fc.constantFrom(...words), { maxLength: 80 }), (list) => {
        const text = list.join(" ");
        expectSoundRanges(parse(text), text);
      }),
      { numRuns: 150 },
    );
  });
  it("for deep nonsense", () => {
    for (const piece of [
      "{",
      "}",
      "a {",
      "block a(b) {",
      "block a(b) {\n",
      "use x(",
      "a -- ",
      "-- ",
      '"',
      "valve V1 X { a { b {\n",
    ]) {
      const text = piece.repeat(1500);
      const tree = parse(text);
      expect(tree.problems.length).toBeGreaterThan(0);
    }
  });
});

describe("a wrong line costs that line alone", () => {
  const plain = (tree: Tree) => tree.statements.map((one) => JSON.stringify(withoutRanges(one)));
  const boundaries = full.lineStarts.filter((start) =>
    full.statements.every(({ range }) => start <= range.start || start >= range.end),
  );
  const wrongLines = [
    "foo",
    "foo bar 10k",
    "HT1 --",
    "HT1 -- resistor R99",
    "HT1 -- resistor 10k --",
    "HT1 -- HT2",
    "resitor R99 10k",
    'amp "unclosed',
    "valve V9 {",
    "valve V9 EL84 { plate: p, a {",
    "transformer T9 { ht 50V {",
    "}",
    "} }",
    "{",
    "(",
    '"',
    ", :",
    "use gain(a",
    "block 5 (",
    "waive",
    "measured HT1 at",
    "-",
    "valve V9 EL84 { plate p }",
    "\u0000\uFFFF",
  ];
  it.each(wrongLines)("%j between any two statements", (wrong) => {
    const lost = plain(full);
    for (const at of boundaries) {
      const tree = parse(`${whole.slice(0, at)}${wrong}\n${whole.slice(at)}`);
      const found = new Set(plain(tree));
      expect(lost.filter((one) => !found.has(one))).toEqual([]);
      expect(tree.problems.length).toBeGreaterThan(0);
      expect(tree.problems.length).toBeLessThanOrEqual(2);
    }
  });

  it("a wrong item costs that item alone", () => {
    const items = ["  plate: p", "  grid: g", "  a { plate: x, grid: y }", "  heater: h1 h2"];
    const wrong = ["  foo", "  foo: ", '  "x"', "  foo bar", "  : x", "  -- x", "  ( )", "  foo: x ) y"];
    const expected = withoutRanges(parse(`valve V1 X {\n${items.join("\n")}\n}`).statements);
    for (const line of wrong) {
      for (let at = 0; at <= items.length; at++) {
        const lines = [...items.slice(0, at), line, ...items.slice(at)];
        const tree = parse(`valve V1 X {\n${lines.join("\n")}\n}\n`);
        expect(withoutRanges(tree.statements)).toEqual(expected);
        expect(tree.problems).toHaveLength(1);
        expect(lineAt(tree.lineStarts, tree.problems[0].range.start)).toBe(at + 1);
      }
    }
  });
});

describe("what does not change the tree", () => {
  const same = withoutRanges(full.statements);
  it("Windows line ends", () => {
    expect(withoutRanges(parse(whole.replaceAll("\n", "\r\n")).statements)).toEqual(same);
  });
  it("blanks at the ends of lines, comments, blank lines", () => {
    expect(withoutRanges(parse(whole.replaceAll("\n", "  # note\n\n# note\n\t\n")).statements)).toEqual(same);
  });
  it("a text read before", () => {
    parse('amp "other\n{{{ block x(');
    expect(parse(whole)).toEqual(full);
  });
});
