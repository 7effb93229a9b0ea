/** A long text is read in pieces with stops in between: the tree is the one that reading it at once gives. */
import { readFileSync } from "node:fs";
import fc from "fast-check";
import { expect, it } from "vitest";
import { atOnce, type InSteps } from "../../grammar/in-steps.ts";
import { tokenize, tokenizeInSteps } from "../../grammar/lexer.ts";
import { parse, parseInSteps } from "../../grammar/parse.ts";

const sample = readFileSync(new URL("./wattlebird.ampnet", import.meta.url), "utf8");
const whole = `${sample}block gain(in, out, ht) {
  in -- resistor R1 68k 0.5W -- g

  # a comment between
  valve v { plate: out, grid: g, cathode: k }
}
use gain(a, b, HT3) as N
a
  -- resistor R2 1k
  -- b
`;

const marks = fc.constantFrom(
  ...[
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
    "\r\n",
    "\n\n # x\n",
    " at ",
    " { ",
    "}\n",
  ],
  ...["block b(", "block b(a) {\n", "use g(a, b) as X", "waive ", "valve V9 X {\n", "x: ", "until 20", "½"],
);
/** A piece of the whole with marks put in and pieces left out. */
const garbled = fc
  .tuple(
    fc.nat(whole.length),
    fc.nat(1500),
    fc.array(fc.tuple(fc.nat(1500), fc.oneof(marks, fc.nat(40))), { maxLength: 10 }),
  )
  .map(([start, length, edits]) => {
    let text = whole.slice(start, start + length);
    for (const [at, edit] of edits)
      text =
        typeof edit === "string"
          ? text.slice(0, at) + edit + text.slice(at)
          : text.slice(0, at) + text.slice(at + edit);
    return text;
  });

function stops(work: InSteps<unknown>): number {
  let count = 0;
  while (!work.next().done) count++;
  return count;
}

const piece = fc.integer({ min: 1, max: 5 });

it("the same tokens, whatever the pieces", () => {
  fc.assert(
    fc.property(garbled, piece, (text, length) => {
      expect(atOnce(tokenizeInSteps(text, length))).toEqual(tokenize(text));
    }),
    { numRuns: 500 },
  );
});

it("the same tree and problems, whatever the pieces", () => {
  expect(atOnce(parseInSteps(whole, 1))).toEqual(parse(whole));
  let problems = 0;
  fc.assert(
    fc.property(garbled, piece, (text, length) => {
      const expected = atOnce(parseInSteps(text, Number.POSITIVE_INFINITY));
      problems += expected.problems.length;
      expect(atOnce(parseInSteps(text, length))).toEqual(expected);
    }),
    { numRuns: 500 },
  );
  expect(problems).toBeGreaterThan(500);
});

it("stops often in a long text, and its tree is that of one piece", () => {
  const long = Array.from({ length: 60 }, (_, k) => whole.replaceAll(/\b([A-Z]+)(\d+)\b/g, `$1x${k}$2`)).join(
    "",
  );
  expect(stops(tokenizeInSteps(long))).toBeGreaterThan(long.length / 20_000);
  expect(stops(parseInSteps(long))).toBeGreaterThan(2 * stops(tokenizeInSteps(long)));
  expect(parse(long)).toEqual(atOnce(parseInSteps(long, Number.POSITIVE_INFINITY)));
  expect(stops(parseInSteps(whole))).toBe(0);
});
