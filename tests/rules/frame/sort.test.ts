/** The order of findings: by place, and what follows from another behind it. */
import { describe, expect, it } from "vitest";
import type { Circuit } from "../../../server/circuit/model.ts";
import { inOrder } from "../../../server/rules/frame/sort.ts";
import type { Finding } from "../../../server/rules/rule.ts";

const circuit = { files: ["a"] } as unknown as Circuit;
const one = (rule: string, at: number, on: string, follows?: string): Finding => ({
  rule,
  severity: "error",
  message: `${rule} ${on}`,
  on: [on],
  place: { file: "a", range: { start: at, end: at + 1 } },
  related: [],
  follows,
});
const order = (...found: Finding[]) => inOrder(circuit, found).map(({ rule, on }) => `${rule} ${on[0]}`);

describe("inOrder", () => {
  it("goes by place where nothing follows", () =>
    expect(order(one("b", 5, "x"), one("a", 9, "y"), one("c", 1, "z"))).toEqual(["c z", "b x", "a y"]));

  it("puts what follows behind its cause, wherever it stands", () =>
    expect(order(one("effect", 1, "T1", "cause"), one("other", 3, "R1"), one("cause", 8, "V1"))).toEqual([
      "other R1",
      "cause V1",
      "effect T1",
    ]));

  it("takes the cause on the same part where there are several", () =>
    expect(
      order(
        one("cause", 2, "V1"),
        one("cause", 6, "V2"),
        one("effect", 1, "V2", "cause"),
        one("effect", 9, "V1", "cause"),
      ),
    ).toEqual(["cause V1", "effect V1", "cause V2", "effect V2"]));

  it("keeps a chain in its order", () =>
    expect(
      order(one("third", 1, "a", "second"), one("second", 2, "b", "first"), one("first", 3, "c")),
    ).toEqual(["first c", "second b", "third a"]));

  it("loses nothing where two follow each other, or a cause is not there", () => {
    expect(order(one("a", 1, "x", "b"), one("b", 2, "x", "a"), one("c", 0, "y", "gone"))).toHaveLength(3);
  });
});
