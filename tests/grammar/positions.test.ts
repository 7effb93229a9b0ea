import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { lineAt, lineEndOf, lineStartsOf, offsetAt, positionAt } from "../../grammar/positions.ts";

describe("positions", () => {
  const text = "ab\ncd\r\n\r\n½W\re";
  const starts = lineStartsOf(text);
  it("knows where lines start, whatever ends them", () => {
    expect(starts).toEqual([0, 3, 7, 9, 12]);
    expect(lineStartsOf("")).toEqual([0]);
    expect(lineStartsOf("a\n")).toEqual([0, 2]);
  });
  it("offset to line and character", () => {
    expect(positionAt(starts, 0)).toEqual({ line: 0, character: 0 });
    expect(positionAt(starts, 2)).toEqual({ line: 0, character: 2 });
    expect(positionAt(starts, 3)).toEqual({ line: 1, character: 0 });
    expect(positionAt(starts, 10)).toEqual({ line: 3, character: 1 });
    expect(positionAt(starts, text.length)).toEqual({ line: 4, character: 1 });
    expect(positionAt(starts, -5)).toEqual({ line: 0, character: 0 });
  });
  it("line and character to offset, never past the line's text", () => {
    expect(offsetAt(starts, { line: 1, character: 1 }, text)).toBe(4);
    expect(offsetAt(starts, { line: 1, character: 99 }, text)).toBe(5);
    expect(offsetAt(starts, { line: 99, character: 0 }, text)).toBe(text.length);
    expect(offsetAt(starts, { line: -1, character: 0 }, text)).toBe(0);
    expect(lineEndOf(starts, 2, text)).toBe(7);
  });
  it("counts UTF-16 code units, as the editor protocol does", () => {
    expect(positionAt(lineStartsOf("\u{1F50A} a"), 3)).toEqual({ line: 0, character: 3 });
  });
  it("there and back is the same, and agrees with counting", () => {
    const piece = fc.constantFrom("a", "\n", "\r\n", "\r", "½", "\u{1F50A}");
    fc.assert(
      fc.property(fc.array(piece, { maxLength: 40 }), fc.nat(60), (pieces, at) => {
        const written = pieces.join("");
        const lines = lineStartsOf(written);
        const offset = Math.min(at, written.length);
        const position = positionAt(lines, offset);
        expect(position.line).toBe(lines.filter((start) => start <= offset).length - 1);
        expect(lineAt(lines, offset)).toBe(position.line);
        const back = offsetAt(lines, position, written);
        // Inside a line's end there is no place of its own: it is the end of the line's text.
        expect(back).toBe(Math.min(offset, lineEndOf(lines, position.line, written)));
      }),
    );
  });
});
