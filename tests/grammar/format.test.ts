import { readdirSync, readFileSync } from "node:fs";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { format } from "../../grammar/format.ts";
import { tokenize } from "../../grammar/lexer.ts";
import { parse } from "../../grammar/parse.ts";
import { withoutRanges } from "./plain.ts";

const sample = readFileSync(new URL("./wattlebird.ampnet", import.meta.url), "utf8");

/** Formats text given as lines, and holds the result to what the formatter promises for every text. */
function formatted(written: readonly string[]): string[] {
  const text = `${written.join("\n")}\n`;
  const result = format(text);
  expectPromises(text, result);
  return result.split("\n").slice(0, -1);
}

function expectPromises(text: string, result: string): void {
  expect(format(result)).toBe(result);
  expect(images(result)).toEqual(images(text));
  const [before, after] = [parse(text), parse(result)];
  expect(said(after.statements)).toBe(said(before.statements));
  expect(after.problems.map(({ message }) => message)).toEqual(before.problems.map(({ message }) => message));
  expect(lines(result)).toEqual(lines(text));
}

/** Every token but line ends. */
function images(text: string): string[] {
  return tokenize(text)
    .map(({ image }) => image.trim())
    .filter((image) => image !== "" && !image.startsWith("#"));
}

/** A tree as text, without ranges, and without the blanks that a fact's own text may hold. */
function said(statements: unknown): string {
  return JSON.stringify(withoutRanges(statements), (key, value) =>
    key === "text" ? value.replaceAll(/\s+/g, " ") : value,
  );
}

/** Lines, comments included, without any blanks; those behind the last word do not count. */
function lines(text: string): string[] {
  const all = text.split(/\r\n|\r|\n/).map((line) => line.replaceAll(/[\s\uFEFF]+/g, ""));
  while (all.length > 0 && all[all.length - 1] === "") all.pop();
  return all;
}

describe("indents and blanks", () => {
  it("two blanks a block, one between words, none where none belongs", () => {
    expect(
      formatted([
        "block gain(in,out , ht){",
        "in --resistor R1 68k   0.5W--g",
        "   valve v{ plate:out,grid : g }",
        "}",
        "use gain (a,b,HT3)as N",
        "switch S1 mains {",
        "1 {common: a, on: b}    2 { common: c }",
        "}",
        "valve V1 X {",
        "\ta {",
        "plate: p",
        "}",
        "}",
      ]),
    ).toEqual([
      "block gain(in, out, ht) {",
      "  in -- resistor R1 68k 0.5W -- g",
      "  valve v { plate: out, grid: g }",
      "}",
      "use gain(a, b, HT3) as N",
      "switch S1 mains {",
      "  1 { common: a, on: b } 2 { common: c }",
      "}",
      "valve V1 X {",
      "  a {",
      "    plate: p",
      "  }",
      "}",
    ]);
  });
  it("a path's further lines stand in, their comments with them", () => {
    expect(
      formatted([
        "a -- wire W1",
        "-- b",
        " # why",
        "",
        "      -- wire W2 -- c",
        "# next",
        "d -- wire W3 -- e",
      ]),
    ).toEqual(["a -- wire W1", "  -- b", "  # why", "", "  -- wire W2 -- c", "# next", "d -- wire W3 -- e"]);
  });
  it("blank lines and comments stay", () => {
    expect(formatted(["", "", "#one", "", "   #   two  ", "metal   panel   # three", ""])).toEqual([
      "",
      "",
      "#one",
      "",
      "#   two",
      "metal panel  # three",
      "",
    ]);
  });
});

describe("columns of neighbouring lines", () => {
  it("terminals, nets and facts, values ending evenly", () => {
    expect(
      formatted([
        "cord W1 anchored {",
        "active: inA 60mm brown",
        "neutral: inN 60mm blue # blue",
        "earth: inE 110mm green-yellow # long",
        "}",
      ]),
    ).toEqual([
      "cord W1 anchored {",
      "  active:  inA  60mm brown",
      "  neutral: inN  60mm blue          # blue",
      "  earth:   inE 110mm green-yellow  # long",
      "}",
    ]);
  });
  it("windings", () => {
    expect(
      formatted([
        "transformer T1 {",
        "primary 230V 14R { live inN }",
        "ht 290-0-290V 120mA {a b c}",
        "heater 6.3V { h1 h2 },",
        "}",
      ]),
    ).toEqual([
      "transformer T1 {",
      "  primary 230V 14R         { live inN }",
      "  ht      290-0-290V 120mA { a b c }",
      "  heater  6.3V             { h1 h2 },",
      "}",
    ]);
  });
  it("paths begin with their nets in a column; a blank line or another statement ends it", () => {
    expect(
      formatted([
        "HT1 -- wire W1 -- a",
        "k -- wire W2 -- b",
        "",
        "g -- wire W3 -- c",
        "metal p",
        "tail -- wire W4 -- d",
      ]),
    ).toEqual([
      "HT1 -- wire W1 -- a",
      "k   -- wire W2 -- b",
      "",
      "g -- wire W3 -- c",
      "metal p",
      "tail -- wire W4 -- d",
    ]);
  });
  it("comments behind neighbouring lines, but not for the sake of an overlong one", () => {
    const long = `${"a -- wire W1 -- b".repeat(1)} -- resistor R1 10k 1W metal-film 350V 2% -- c -- resistor R2 10k 1W -- dddddd`;
    expect(formatted(["metal a # one", "metal bbbb # two", "", `${long} # three`, "metal c # four"])).toEqual(
      ["metal a     # one", "metal bbbb  # two", "", `${long}  # three`, "metal c  # four"],
    );
  });
});

describe("what it leaves alone", () => {
  it("every sample: they stand as it would set them", () => {
    const folder = new URL("../../samples/", import.meta.url);
    const files = readdirSync(folder).filter((file) => file.endsWith(".ampnet"));
    expect(files.length).toBeGreaterThan(0);
    for (const file of files) {
      const text = readFileSync(new URL(file, folder), "utf8");
      expect(format(text), file).toBe(text);
    }
  });

  it("a line with a mistake on it", () => {
    expect(formatted(["metal   a", "HT1  --   HT2   # x ", "  foo:   ) bar", "metal   b"])).toEqual([
      "metal a",
      "HT1  --   HT2   # x ",
      "  foo:   ) bar",
      "metal b",
    ]);
  });
  it("the indents of a text whose braces are not in pairs", () => {
    expect(formatted(["valve V1 X {", "      plate:   p", "a   -- wire W1 -- b", "    metal   c"])).toEqual([
      "valve V1 X {",
      "      plate: p",
      "a -- wire W1 -- b",
      "    metal c",
    ]);
  });
  it("a blank between two line ends of different kinds: without it they would be one", () => {
    expect(format("metal  a\r \nmetal  b")).toBe("metal a\r \nmetal b\r");
    expect(format("metal  a\r\n \nmetal  b")).toBe("metal a\r\n\nmetal b\r\n");
  });
  it("line ends and the byte-order mark; the last line gets an end", () => {
    expect(format("\uFEFF metal  a\r\nmetal  b")).toBe("\uFEFFmetal a\r\nmetal b\r\n");
    expect(format("metal  a")).toBe("metal a\n");
    expect(format("")).toBe("");
  });
});

describe("for every text", () => {
  it("the sample", () => expectPromises(sample, format(sample)));

  it("with blanks, tabs and line ends strewn in and pieces cut out", () => {
    const edit = fc.tuple(
      fc.nat(sample.length),
      fc.constantFrom(" ", "\t", "   ", "\n", "\r\n", "# note\n", "{", "}", '"', "--", ""),
      fc.nat(12),
    );
    fc.assert(
      fc.property(fc.array(edit, { maxLength: 10 }), (edits) => {
        let text = sample;
        for (const [at, insert, cut] of edits)
          text = text.slice(0, at) + insert + text.slice(at + (insert === "" ? cut : 0));
        expectPromises(text, format(text));
      }),
      { numRuns: 60 },
    );
  });
  it("random text", () => {
    fc.assert(
      fc.property(fc.string({ unit: "binary", maxLength: 120 }), (text) => {
        expectPromises(text, format(text));
      }),
      { numRuns: 150 },
    );
  });
  it("random marks and words", () => {
    const word = fc.constantFrom(
      "a",
      "{",
      "}",
      "\n",
      "--",
      ":",
      ",",
      "valve V1 X",
      "block b(a)",
      "#x",
      '"',
      "10k",
      "heater",
      "(",
      ")",
      "  ",
      "metal",
    );
    fc.assert(
      fc.property(fc.array(word, { maxLength: 30 }), (words) => {
        const text = words.join(" ");
        expectPromises(text, format(text));
      }),
      { numRuns: 300 },
    );
  });
});
