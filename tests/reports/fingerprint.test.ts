import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { hash } from "../../server/reports/fingerprint.ts";

describe("the hash of a finding's name", () => {
  it("is FNV-1a of 64 bits (vectors of the FNV draft, draft-eastlake-fnv; there of bytes, here of code units)", () => {
    expect(hash("")).toBe("cbf29ce484222325");
    expect(hash("a")).toBe("af63dc4c8601ec8c");
    expect(hash("foobar")).toBe("85944171f73967e8");
  });

  it("is what large integers give", () => {
    fc.assert(
      fc.property(fc.string({ unit: "binary" }), (text) => {
        let value = 0xcbf29ce484222325n;
        for (let i = 0; i < text.length; i++)
          value = BigInt.asUintN(64, (value ^ BigInt(text.charCodeAt(i))) * 0x100000001b3n);
        expect(hash(text)).toBe(value.toString(16).padStart(16, "0"));
      }),
    );
  });
});
