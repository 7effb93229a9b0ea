/** Nets to nodes: what is one piece of metal, and what only looks so. */
import { describe, expect, it } from "vitest";
import { check } from "../../server/check.ts";

const volts = (text: string, net: string): number => {
  const { circuit, analysis } = check("strip.ampnet", text);
  const index = circuit.nets.findIndex(({ name }) => name === net);
  return analysis.solution("idle", "nominal")?.volts[index] ?? Number.NaN;
};

describe("the tags of a terminal strip", () => {
  const divider = `source B1 100V { plus: a, minus: gnd }
a -- resistor R1 1k 10W -- b
TS1.2 -- resistor R2 3k 10W -- gnd
terminal-strip TS1 { 1: a, 2: b, 3: gnd }
`;
  it("stay apart, each its own net", () => {
    // 100 V over 1 k and 3 k (Ohm's law).
    expect(volts(divider, "b")).toBeCloseTo(75, 9);
    expect(check("strip.ampnet", divider).findings.filter(({ severity }) => severity === "error")).toEqual(
      [],
    );
  });
});
