import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { reportOf } from "../../server/reports/report.ts";
import { fakeResult } from "./fake.ts";

/** The same by counting characters one by one. */
function counted(text: string, offset: number) {
  let line = 0;
  let character = 0;
  for (let i = 0; i < offset; i++) {
    const ends = text[i] === "\n" || (text[i] === "\r" && text[i + 1] !== "\n");
    if (ends) {
      line++;
      character = 0;
    } else character++;
  }
  return { line, character };
}

describe("offsets to lines", () => {
  it("agrees with counting, for any mixture of line ends and of characters of two code units", () => {
    const piece = fc.constantFrom("R1", " -- ", "µ", "Ω", "🦜", "\t", "\n", "\r\n", "\r", "#");
    fc.assert(
      fc.property(fc.array(piece, { maxLength: 40 }), fc.nat(), fc.nat(), (pieces, a, b) => {
        const text = pieces.join("");
        const start = Math.min(a % (text.length + 1), b % (text.length + 1));
        const end = Math.max(a % (text.length + 1), b % (text.length + 1));
        // Between \r and \n there is no place that a finding could start or end at.
        fc.pre(text.slice(start - 1, start + 1) !== "\r\n" && text.slice(end - 1, end + 1) !== "\r\n");
        const result = fakeResult({ "a.ampnet": text }, []);
        const finding = { ...base, place: place(start, end) };
        const { range } = reportOf({ ...result, findings: [finding] }).findings[0];
        expect(range).toEqual({ start: counted(text, start), end: counted(text, end) });
      }),
    );
  });

  it("keeps a place past the end of the text inside it", () => {
    const result = {
      ...fakeResult({ "a.ampnet": "ab\ncd" }, []),
      findings: [{ ...base, place: place(4, 99) }],
    };
    expect(reportOf(result).findings[0].range).toEqual({
      start: { line: 1, character: 1 },
      end: { line: 1, character: 2 },
    });
  });
});

const base = { rule: "circuit/syntax", severity: "error" as const, message: "", on: [], related: [] };
const place = (start: number, end: number) => ({ file: "a.ampnet", range: { start, end } });
