import { describe, expect, it } from "vitest";
import { kinds } from "../../grammar/names.ts";
import { didYouMean, didYouMeanKind, nearNames } from "../../grammar/near.ts";

describe("near names", () => {
  it("closest first, three at most", () => {
    expect(nearNames("resitor", kinds)).toEqual(["resistor"]);
    expect(nearNames("HT11", ["HT2", "HT1", "HT111", "HT12", "gnd"])).toEqual(["HT1", "HT111", "HT12"]);
  });
  it("another case of the same word is the nearest", () => {
    expect(nearNames("ht1", ["HT2", "HT1", "ht2"])).toEqual(["HT1", "HT2", "ht2"]);
  });
  it("not the word itself, and nothing far", () => {
    expect(nearNames("gnd", ["gnd", "chassis"])).toEqual([]);
    expect(nearNames("", kinds)).toEqual([]);
  });
  it("as a question", () => {
    expect(didYouMean("a1", ["a2", "a3", "b1"])).toBe(" Did you mean a2, a3 or b1?");
    expect(didYouMean("a1", ["a2"])).toBe(" Did you mean a2?");
    expect(didYouMean("a1", ["zzz"])).toBe("");
  });
  it("kinds by other words of the trade; no word of the language itself is one", () => {
    expect(didYouMeanKind("condenser", kinds)).toBe(" Did you mean capacitor?");
    expect(didYouMeanKind("toString", kinds)).toBe("");
  });
});
