/** Rectifiers that short their winding: Kirchhoff's voltage law with the diodes' directions, drawn by hand for each case. */
import { describe, expect, it } from "vitest";
import { findingsOf } from "../limits.ts";

const text = (rectifier: string, winding = "ht 250V 200mA 40R { a1 a2 }") => `transformer T1 60VA {
  primary 230V 30R { x y }
  ${winding}
}
${rectifier}
HT -- capacitor C1 47u 450V electrolytic -- gnd
HT -- resistor R1 10k 10W wirewound 500V -- gnd
`;
const shorts = (of: string) => findingsOf(of).filter((finding) => finding.rule === "circuit/short");
const bridge = (first: string) => `${first}
gnd -- diode D2 1N4007 -- a2
a1 -- diode D3 1N4007 -- HT
a2 -- diode D4 1N4007 -- HT`;

describe("circuit/short: a winding shorted by its rectifiers", () => {
  it.each([
    ["a bridge of four diodes", text(bridge("gnd -- diode D1 1N4007 -- a1"))],
    ["a bridge", text("bridge BR1 1000V 1A { ac1: a1, ac2: a2, plus: HT, minus: gnd }")],
    [
      "two diodes and a centre tap",
      text(
        "a1 -- diode D1 1N4007 -- HT\na2 -- diode D2 1N4007 -- HT",
        "ht 250-0-250V 200mA 80R { a1 gnd a2 }",
      ),
    ],
    [
      "a doubler",
      text(
        "a1 -- diode D1 1N4007 -- HT\ngnd -- diode D2 1N4007 -- a1\nHT -- capacitor C2 47u 450V electrolytic -- a2\na2 -- capacitor C3 47u 450V electrolytic -- gnd",
      ),
    ],
    [
      "a bridge with a supply of half the volts at the centre tap",
      text(
        "bridge BR1 1000V 1A { ac1: a1, ac2: a2, plus: HT, minus: gnd }\nct -- capacitor C2 47u 450V electrolytic -- gnd",
        "ht 125-0-125V 200mA 80R { a1 ct a2 }",
      ),
    ],
  ])("is quiet on %s", (_, of) => expect(shorts(of)).toEqual([]));

  it.each([
    ["one of a bridge's diodes turned round", text(bridge("a1 -- diode D1 1N4007 -- gnd")), ["D1", "D2"]],
    [
      "a diode straight across the winding",
      text("a1 -- diode D1 1N4007 -- a2\na1 -- diode D2 1N4007 -- HT"),
      ["D1"],
    ],
    [
      "a bridge's minus and the centre tap both on common",
      text(
        "bridge BR1 1000V 1A { ac1: a1, ac2: a2, plus: HT, minus: gnd }",
        "ht 125-0-125V 200mA 80R { a1 gnd a2 }",
      ),
      ["BR1"],
    ],
    [
      "a bridge's plus and minus on one net",
      text("bridge BR1 1000V 1A { ac1: a1, ac2: a2, plus: gnd, minus: gnd }"),
      ["BR1"],
    ],
  ])("is told of %s", (_, of, on) => {
    const [found] = shorts(of).filter((finding) => finding.message.includes("half-cycle"));
    expect(found?.severity).toBe("error");
    expect(found?.on).toEqual(expect.arrayContaining([...on, "T1.ht"]));
  });

  it("leads what it overloads, and stands before it", () => {
    const found = findingsOf(text(bridge("a1 -- diode D1 1N4007 -- gnd")));
    const at = (rule: string) => found.findIndex((finding) => finding.rule === rule);
    expect(found[at("supply/winding-current")]?.follows).toBe("circuit/short");
    expect(at("supply/winding-current")).toBeGreaterThan(at("circuit/short"));
  });
});
