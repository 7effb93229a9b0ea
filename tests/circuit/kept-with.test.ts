import { describe, expect, test } from "vitest";
import { KeptWith } from "../../server/circuit/kept-with.ts";

describe("what is kept with a circuit", () => {
  test("stays apart by kind and by circuit", () => {
    const nets = new KeptWith<object, number>();
    const parts = new KeptWith<object, string>();
    const [one, other] = [{}, {}];
    nets.set(one, 1);
    parts.set(one, "R1");
    nets.set(other, 2);
    expect([nets.get(one), parts.get(one), nets.get(other), parts.get(other)]).toEqual([
      1,
      "R1",
      2,
      undefined,
    ]);
    nets.set(one, 3);
    expect(nets.get(one)).toBe(3);
    expect(parts.get(one)).toBe("R1");
  });

  test("may be nothing, which is not the same as not looked for", () => {
    const found = new KeptWith<object, string | undefined>();
    const other = new KeptWith<object, string>();
    const circuit = {};
    expect(found.has(circuit)).toBe(false);
    other.set(circuit, "x");
    expect(found.has(circuit)).toBe(false);
    found.set(circuit, undefined);
    expect(found.has(circuit)).toBe(true);
    expect(found.get(circuit)).toBeUndefined();
  });

  test("does not go along with a copy, nor into what is written out", () => {
    const kept = new KeptWith<object, number>();
    const circuit = { name: "Wattlebird" };
    kept.set(circuit, 1);
    expect(kept.has({ ...circuit })).toBe(false);
    expect(JSON.stringify(circuit)).toBe('{"name":"Wattlebird"}');
    expect(Object.keys(circuit)).toEqual(["name"]);
  });
});
