/** Mains on what a hand comes to that is neither chassis nor circuit common. */
import { describe, expect, it } from "vitest";
import { example } from "../../../server/rules/mains/example.ts";
import { findingsOf } from "./told.ts";

const LAMP = "h1 -- lamp LP1 6.3V 5A -- gnd";
const crossed = (more: string) =>
  findingsOf(example({ name: "Case", rest: `${LAMP}\n${more}` })).filter(
    ({ rule }) => rule === "mains/crossed",
  );

describe("mains/crossed", () => {
  it.each([
    [
      "a jack's sleeve on the neutral",
      "jack J1 { tip: t1, sleeve: inN }\nt1 -- resistor R1 1M 0.5W -- gnd",
      /neutral .*sleeve of J1/,
    ],
    [
      "an insulated jack's sleeve on the active",
      "jack J1 insulated { tip: t1, sleeve: fused }\nt1 -- resistor R1 1M 0.5W -- gnd",
      /active .*sleeve of J1/,
    ],
    ["a jack's tip on the active", "jack J1 { tip: live, sleeve: gnd }", /active .*tip of J1/],
    [
      "a panel on the neutral",
      "metal panel\npanel -- wire W9 600V -- inN",
      /neutral .*panel, metal that can be touched/,
    ],
  ])("tells %s", (_, more, words) => {
    const found = crossed(more);
    expect(found.map(({ severity }) => severity)).toContain("error");
    expect(found.map(({ message }) => message).join()).toMatch(words);
  });

  it("is quiet on jacks where they belong", () => {
    expect(crossed("jack J1 { tip: t1, sleeve: gnd }\nt1 -- resistor R1 1M 0.5W -- gnd")).toEqual([]);
  });
});
