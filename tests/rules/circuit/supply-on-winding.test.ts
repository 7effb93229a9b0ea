/** A rectifier's cathode on a winding that leads to common: by Kirchhoff's laws the winding's few ohms stand across the supply. */
import { describe, expect, it } from "vitest";
import { findingsOf } from "../limits.ts";

const amp = (
  rectifier: string,
  heaters = "fil 6.3V 2A 0.05R { h1 h2 }\n  rect 5V 2A 0.05R { r1 r2 }",
  more = "h1 -- wire W1 -- gnd",
) => `transformer T1 60VA {
  primary 230V 14R { a b }
  ht 250-0-250V 100mA 150R { x gnd y }
  ${heaters}
}
${more}
${rectifier}
r1 -- capacitor C1 16u 450V electrolytic -- gnd
r1 -- resistor R1 10k 20W wirewound 700V -- gnd
`;
const shorts = (text: string) => findingsOf(text).filter(({ rule }) => rule === "circuit/short");
const valve = (heater: string, cathode: string) =>
  `valve V4 5Y3GT { plate1: x, plate2: y, heater: ${heater}, cathode: ${cathode} }`;

describe("a rectifier's cathode on a winding that is tied to common", () => {
  it("is told at the cathode, leads what burns, and says where it belongs", () => {
    const text = amp(valve("r1 r2", "h2"));
    const [found, ...more] = shorts(text);
    expect(more).toEqual([]);
    expect(found.severity).toBe("error");
    expect(found.message).toMatch(
      /^V4's cathode \(h2\) is on T1\.fil, .*\(h1\) .* by W1: .* belongs on the winding that heats it \(r1\)\.$/,
    );
    expect(text.slice(found.place.range.start, found.place.range.end)).toBe("h2");
    const winding = findingsOf(text).find(
      ({ rule, on }) => rule === "supply/winding-current" && on.includes("T1.ht"),
    );
    expect(winding?.follows).toBe("circuit/short");
  });
  it("is told of a filament on the heaters' winding", () => {
    expect(shorts(amp(valve("h1 h2", "h2")))[0].message).toMatch(
      /asks for a winding of its own that nothing else ties to common\.$/,
    );
  });
  it("is told of a diode, and of a heater winding whose middle is on common", () => {
    const middle = "fil 3.15-0-3.15V 2A 0.05R { h1 gnd h2 }";
    const [found] = shorts(amp("x -- diode D1 1N4007 -- h2", middle, ""));
    expect(found.message).toMatch(/^D1's cathode \(h2\) is on T1\.fil, another point of which is on common/);
  });
  it.each([
    ["on its own filament's winding", amp(valve("r1 r2", "r1"))],
    ["on heaters that nothing ties to common", amp(valve("r1 r2", "h2"), undefined, "")],
    [
      "on heaters that are tied by 100 Ω",
      amp(valve("r1 r2", "r1"), undefined, "h1 -- resistor R2 100R 1W -- gnd"),
    ],
    [
      "of a bias supply",
      amp(
        `${valve("r1 r2", "r1")}\nbn -- diode D2 1N4007 -- bt`,
        "bias 50V 50mA 20R { bt gnd }\n  rect 5V 2A 0.05R { r1 r2 }",
        "gnd -- capacitor C2 47u 100V electrolytic -- bn\nbn -- resistor R3 22k 1W -- gnd",
      ),
    ],
  ])("%s it is not", (_, text) => {
    expect(shorts(text)).toEqual([]);
  });
});
