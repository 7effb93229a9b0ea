/** A text read again after an edit gives the tree of a text that is read for the first time, whatever the edit is. */
import { readdirSync, readFileSync } from "node:fs";
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { parse } from "../../grammar/parse.ts";
import { Reader, reparse } from "../../grammar/reparse.ts";

const folder = new URL("../../samples/", import.meta.url);
const samples = readdirSync(folder)
  .filter((file) => file.endsWith(".ampnet"))
  .map((file) => readFileSync(new URL(file, folder), "utf8"));
const blocks = `amp "Two of a stage"
# one stage
block stage(in, out, ht) {
  valve V1 ECC83 { a { plate: p, grid: in, cathode: k } }
  ht -- resistor R1 100k -- p
  p -- capacitor C1 22n
    -- out
}
use stage(x, y, HT) as N
use stage(y, z, HT) as M
waive rating/unrated because "seen to" until 2099-01-01
measured HT 300V at mains 230V
`;
const texts = [...samples, blocks, blocks.replaceAll("\n", "\r\n"), "", "\n", "# nothing\n"];

/** What an edit may leave or bring: marks that change what stands around them, and words that don't. */
const bits = [
  ...[
    "{",
    "}",
    "--",
    " -- ",
    "\n",
    "\r\n",
    "\r",
    "#",
    '"',
    ",",
    ":",
    "(",
    ")",
    "{\n",
    "\n}\n",
    "\n-- b",
    "\t",
    "\u2028",
  ],
  ...[
    "a",
    "1",
    "10k",
    " ",
    "resistor ",
    "\nresistor R99 1k { a: x, b: y }\n",
    "block b(x) {\n",
    "use b(y) as Q\n",
  ],
  ...["\n# a note", "heater: h1 h2", "-", 'amp "again"\n', "  indented\n"],
];
const edit = fc.record({
  at: fc.nat(),
  length: fc.oneof(fc.constant(0), fc.constant(1), fc.nat({ max: 5 }), fc.nat({ max: 300 })),
  inserted: fc.array(fc.constantFrom(...bits), { maxLength: 3 }).map((all) => all.join("")),
});

function made(
  text: string,
  { at, length, inserted }: { at: number; length: number; inserted: string },
): string {
  const start = at % (text.length + 1);
  return text.slice(0, start) + inserted + text.slice(start + length);
}

describe("an edited text", () => {
  test("has the tree of the same text read whole, or is left to be read whole", () => {
    let served = 0;
    let wrong = 0;
    fc.assert(
      fc.property(
        fc.constantFrom(...texts),
        fc.array(edit, { minLength: 1, maxLength: 2 }),
        (text, edits) => {
          const before = { text, tree: parse(text) };
          const edited = edits.reduce(made, text);
          const again = reparse(edited, before);
          if (!again) return;
          const whole = parse(edited);
          expect(again).toEqual(whole);
          served++;
          if (whole.problems.length > 0) wrong++;
        },
      ),
      { numRuns: 1500 },
    );
    // Most are served, right ones and wrong ones.
    expect(served).toBeGreaterThan(600);
    expect(wrong).toBeGreaterThan(100);
  });

  test("keeps the statements before the edit, and those behind it where nothing moved", () => {
    const before = { text: blocks, tree: parse(blocks) };
    const edited = blocks.replace("use stage(x", "use stage(w");
    const again = reparse(edited, before)!;
    expect(again).toEqual(parse(edited));
    expect(again.statements.map((one, index) => one === before.tree.statements[index])).toEqual([
      ...[true, true, false, true, true, true],
    ]);
  });

  test.each([
    ["a brace opened", "HT) as N", "HT) as N {"],
    ["a brace closed", "use stage(x", "} use stage(x"],
    ["a line that goes on with what stands before", "use stage(x", "-- use stage(x"],
  ])("is read whole where the edit reaches further: %s", (_, old, now) => {
    expect(reparse(blocks.replace(old, now), { text: blocks, tree: parse(blocks) })).toBeUndefined();
  });

  test("is read whole where the text before had a problem", () => {
    const wrong = blocks.replace("22n", "22n }");
    expect(parse(wrong).problems).not.toEqual([]);
    expect(reparse(blocks, { text: wrong, tree: parse(wrong) })).toBeUndefined();
  });
});

describe("a reader", () => {
  test("gives the tree of each text, through wrong ones too, and the same object for the same text", () => {
    const reader = new Reader();
    let text = samples[0];
    const at = text.indexOf("\n", text.length / 2) + 1;
    const line = "HT -- resistor R99 4k7 1W -- gnd\n";
    for (let typed = 0; typed <= line.length; typed++) {
      text = samples[0].slice(0, at) + line.slice(0, typed) + samples[0].slice(at);
      const tree = reader.read(text);
      expect(tree).toEqual(parse(text));
      expect(reader.read(text)).toBe(tree);
    }
  });
});
