/** What is turned round: the capacitor, the diode that feeds it, a zener. */
import { describe, expect, it } from "vitest";
import { told } from "../limits.ts";

const doubler = ({
  d1 = "d1 -- diode D1 1N4007 -- HT1",
  c20 = "HT1 -- capacitor C20 100u 250V electrolytic -- d2",
}) => `transformer T1 100VA {
  primary 230V 10R   { a b }
  ht      112V 450mA 12R { d1 d2 }
}
${d1}
gnd -- diode D2 1N4007 -- d1
${c20}
d2 -- capacitor C21 100u 250V electrolytic -- gnd
HT1 -- resistor RB1 100k 1W -- d2
d2 -- resistor RB2 100k 1W -- gnd
HT1 -- resistor R20 1k 5W -- HT2
HT2 -- capacitor C22 47u 450V electrolytic -- gnd
HT2 -- resistor R3 100k 1W -- p1
valve V1 ECC83 { a { plate: p1, grid: g1, cathode: k1 } }
g1 -- resistor R4 1M 0.5W -- gnd
k1 -- resistor R5 1k5 0.5W -- gnd
`;
const bias = ({
  diode = "bn -- diode D3 1N4007 -- b1",
  cap = "gnd -- capacitor C40 47u 100V electrolytic -- bn",
}) => `source B1 300V { plus: HT, minus: gnd }
transformer T1 100VA {
  primary 230V 10R    { a b }
  bias    25V 50mA 20R { b1 gnd }
}
${diode}
${cap}
bn -- resistor R40 22k 0.5W -- gnd
bn -- resistor R41 100k 0.5W -- g1
HT -- resistor R6 1k 5W -- s1
HT -- resistor R7 1k 20W -- p1
valve V1 6L6GC { plate: p1, screen: s1, grid: g1, cathode: gnd }
`;
const of = (text: string, on: string) => told(text, "rating/capacitor-reverse", on)[0]?.message ?? "";

describe("rating/capacitor-reverse: what is to be turned round", () => {
  it("is the diode of a doubler first, where nothing else on the supply has its volts", () => {
    expect(of(doubler({ d1: "HT1 -- diode D1 1N4007 -- d1" }), "C20")).toMatch(
      /Turn D1 round first, .* only if that is right, the capacitor\./,
    );
  });

  it("is the capacitor alone, where the rest of the doubler stands as it should", () => {
    const message = of(doubler({ c20: "d2 -- capacitor C20 100u 250V electrolytic -- HT1" }), "C20");
    expect(message).toMatch(/Turn it round\./);
    expect(message).not.toContain("D1");
    expect(of(doubler({}), "C20")).toBe("");
  });

  it("is the bias supply's diode first, where the grid is pulled up with it", () => {
    expect(of(bias({ diode: "b1 -- diode D3 1N4007 -- bn" }), "C40")).toMatch(/Turn D3 round first/);
  });

  it("is the bias supply's capacitor alone, where the grid has its bias", () => {
    const message = of(bias({ cap: "bn -- capacitor C40 47u 100V electrolytic -- gnd" }), "C40");
    expect(message).toMatch(/Turn it round\.$/);
    expect(of(bias({}), "C40")).toBe("");
  });

  it("is either where no valve tells what the supply should be", () => {
    const bare = bias({ diode: "b1 -- diode D3 1N4007 -- bn" }).replace(/valve V1.*\n/, "");
    expect(of(bare, "C40")).toMatch(/Turn it round, or D3 that feeds it/);
  });
});

describe("rating/zener-reversed", () => {
  const zener = (way: string) =>
    told(
      `source B1 100V { plus: HT, minus: gnd }\nHT -- resistor R1 10k 3W -- z\n${way}\n`,
      "rating/zener-reversed",
      "Z1",
    );

  it("is told of a zener that conducts forward, with what it holds and what it should", () => {
    expect(zener("z -- zener Z1 56V 1W -- gnd")[0]?.message).toMatch(
      /holds 0\.\d+ V where its 56 V were meant/,
    );
  });

  it.each([
    ["the right way round", "gnd -- zener Z1 56V 1W -- z"],
    ["back to back with another", "z -- zener Z1 56V 1W -- y\ngnd -- zener Z2 56V 1W -- y"],
    ["back to back, anodes together", "y -- zener Z1 56V 1W -- z\ny -- zener Z2 56V 1W -- gnd"],
    ["behind a diode for its temperature", "z -- diode D1 1N4148 -- y\ngnd -- zener Z1 56V 1W -- y"],
    ["without current to speak of", "z -- resistor R9 10M 0.5W -- y\ny -- zener Z1 56V 1W -- gnd"],
  ])("is quiet on one %s", (_, way) => {
    expect(zener(way)).toEqual([]);
  });

  it("is told of one in series with another the same way, each", () => {
    const way = "z -- zener Z1 27V 1W -- y\ny -- zener Z2 27V 1W -- gnd";
    expect(zener(way)).toHaveLength(1);
  });
});
