/** Reports handed on file by file: never more held than a window, every text whole all the same. */
import { readdirSync } from "node:fs";
import { tmpdir } from "node:os";
import fc from "fast-check";
import { afterEach, describe, expect, it, vi } from "vitest";
import { Spool } from "../../server/cli/spool.ts";
import { Turns } from "../../server/cli/turns.ts";
import type { Part } from "../../server/reports/writer.ts";

describe("turns", () => {
  it("hand every result on in order and hold no more than the window, however the work ends", () => {
    fc.assert(
      fc.property(
        fc.nat(60),
        fc.integer({ min: 1, max: 12 }),
        fc.integer({ min: 1, max: 6 }),
        fc.infiniteStream(fc.nat()),
        (count, window, workers, choices) => {
          const taken: number[] = [];
          const turns = new Turns<string>(count, window, (result, index) => {
            expect(result).toBe(`result ${index}`);
            taken.push(index);
          });
          const out: number[] = [];
          const choose = choices[Symbol.iterator]();
          for (;;) {
            // Each free worker takes some where there is some.
            while (out.length < workers) {
              const index = turns.next();
              if (index === undefined) break;
              out.push(index);
            }
            if (out.length === 0) break;
            const [index] = out.splice(choose.next().value % out.length, 1);
            turns.put(index, `result ${index}`);
          }
          expect(turns.allOut).toBe(true);
          expect(taken).toEqual(Array.from({ length: count }, (_, index) => index));
          expect(turns.mostHeld).toBeLessThanOrEqual(Math.min(window, count));
        },
      ),
    );
  });

  it("give no more out while the first of a window is missing", () => {
    const taken: number[] = [];
    const turns = new Turns<string>(100, 8, (_, index) => taken.push(index));
    for (let index = 0; index < 8; index++) expect(turns.next()).toBe(index);
    for (let index = 1; index < 8; index++) turns.put(index, "");
    expect(turns.next()).toBeUndefined();
    expect(taken).toEqual([]);
    turns.put(0, "");
    expect(taken).toEqual([0, 1, 2, 3, 4, 5, 6, 7]);
    expect(turns.next()).toBe(8);
  });
});

describe("a spool", () => {
  afterEach(() => vi.unstubAllEnvs());

  const whole = (spool: Spool, parts: Iterable<Part>) =>
    Buffer.concat([...spool.read(parts)].map((part) => Buffer.from(part))).toString("utf8");
  /** More than is held in memory, with signs of two, three and four bytes. */
  const pieces = Array.from({ length: 300 }, (_, nth) => `${nth} µ│𝄞 ${"x".repeat(nth * 20)}\n`);
  const names = () => readdirSync(tmpdir()).filter((name) => name.startsWith(`derate-${process.pid}-`));

  const holds = () => {
    const spool = new Spool();
    try {
      expect(whole(spool, [{ from: 0, to: 0 }])).toBe("");
      for (const piece of pieces) spool.push(piece);
      expect(whole(spool, ["head\n", { from: 0, to: pieces.length }, "foot\n"])).toBe(
        `head\n${pieces.join("")}foot\n`,
      );
      for (const [from, to] of [
        [0, 1],
        [7, 7],
        [150, 290],
        [298, 300],
      ])
        expect(whole(spool, [{ from, to }])).toBe(pieces.slice(from, to).join(""));
      expect(names()).toEqual([]);
    } finally {
      spool.close();
    }
  };

  it("gives its pieces back in any order, and leaves no file whatever happens", () => holds());

  it("does without a place for temporary files", () => {
    vi.stubEnv("TMPDIR", "/no/such/folder");
    expect(tmpdir()).toBe("/no/such/folder");
    const spool = new Spool();
    for (const piece of pieces) spool.push(piece);
    expect(whole(spool, [{ from: 0, to: pieces.length }])).toBe(pieces.join(""));
    spool.close();
  });
});
