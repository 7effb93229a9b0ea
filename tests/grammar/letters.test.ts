/** The shapes for plain letters say the same as those for any script's, which hold for a text with a sign beyond ASCII. */
import fc from "fast-check";
import { expect, it } from "vitest";
import { shape } from "../../grammar/letters.ts";
import { isNetName, isPieceOfName, isReferenceShape } from "../../grammar/names.ts";

const names = {
  net: [isNetName, /^(?:[\p{L}\p{N}_]+|[\p{N}_]*\p{L}[\p{L}\p{N}_+]*)$/u],
  piece: [isPieceOfName, /^[\p{L}\p{N}_][\p{L}\p{N}_+-]*$/u],
  reference: [isReferenceShape, /^[\p{L}_][\p{L}\p{N}_]*(?:\.[\p{L}\p{N}_]+)*$/u],
} as const;
const signs = fc.constantFrom(..."aZ09_+-.{/ éΩ½٣中\u{1d400}".split(""), "\u{1d400}", "\u0301");
const text = fc.array(signs, { maxLength: 6 }).map((list) => list.join(""));

it.each(Object.entries(names))("%s", (name, [is, pattern]) => {
  fc.assert(
    fc.property(text, (word) => {
      // A net's name with a dot is a terminal's, which is more than its shape.
      if (name === "net" && word.includes(".")) return;
      expect(is(word)).toBe(pattern.test(word));
    }),
    { numRuns: 3000 },
  );
  expect(is("Ω5")).toBe(true);
  expect(is("R7")).toBe(true);
  expect(is("é{")).toBe(false);
  expect(is("R{")).toBe(false);
});

it("the plain shape is asked for plain texts alone, the other for all others", () => {
  const is = shape(/^plain$/, "^é$");
  expect([is("plain"), is("é"), is("other"), is("plainé")]).toEqual([true, true, false, false]);
});
