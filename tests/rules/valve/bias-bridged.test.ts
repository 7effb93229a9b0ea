/** A bias resistor that something bridges, and windings that meet a heater only on circuit common. */
import { describe, expect, it } from "vitest";
import { findingsOf, told } from "../limits.ts";

const amp = (cathode: string) => `transformer T1 60VA {
  primary 230V 14R { a b }
  ht 250-0-250V 45mA 150R { x gnd y }
  lt 6.3V 2A 0.05R { h1 gnd }
}
x -- diode D1 1N4007 -- HT
y -- diode D2 1N4007 -- HT
HT -- capacitor C1 47u 450V electrolytic -- gnd
HT -- resistor R1 220k 2W 500V -- gnd
HT -- resistor R2 1k 2W -- s1
valve V1 EL84 { plate: p1, screen: s1, grid: g1, cathode: k, heater: h1 gnd }
g1 -- resistor R4 470k 0.5W -- gnd
k -- resistor R6 270R 3W -- gnd
${cathode}
output-transformer T2 8W { plates 5k 60mA 300R { p1 HT }, speaker 8R { gnd spk } }
spk -- speaker LS1 8R 30W -- gnd
`;

describe("a cathode resistor bridged by a wire", () => {
  it("is told as that, once, at the cathode", () => {
    const text = amp("k -- wire W1 -- gnd");
    const [found, ...more] = told(text, "valve/bias-missing", "V1");
    expect(more).toEqual([]);
    expect(found.message).toMatch(
      /Its cathode is tied to common: R6, which is to make its bias, is bridged by W1\. Take that out\.$/,
    );
    expect(found.on).toContain("R6");
    expect(text.slice(found.place.range.start, found.place.range.end)).toBe("k");
    expect(findingsOf(text).filter(({ rule }) => rule === "circuit/short")).toEqual([]);
  });
  it("is not told of a cathode on common without any", () => {
    const text = amp("").replace("k -- resistor R6 270R 3W -- gnd", "k -- wire W1 -- gnd");
    expect(told(text, "valve/bias-missing", "V1")[0].message).toContain(
      "No negative supply comes to the grid",
    );
  });
});

describe("a high-tension winding whose middle is on common, as one end of the heaters is", () => {
  it("heats none of them", () => {
    const found = findingsOf(amp("k -- wire W1 -- gnd"));
    expect(found.filter(({ rule }) => rule === "supply/heater-current")).toEqual([]);
    // What it is overloaded by is the valve without bias.
    expect(
      found.find(({ rule, on }) => rule === "supply/winding-current" && on.includes("T1.ht"))?.follows,
    ).toBe("valve/bias-missing");
  });
  it("does where a string of heaters, or a dropper, hangs on it", () => {
    const string = (row: string) =>
      findingsOf(`transformer T1 60VA {\n  primary 230V 14R { a b }\n  lt 12.6V 100mA 0.2R { s gnd }\n}
source B1 100V { plus: HT, minus: gnd }
valve V1 EL84 { plate: HT, screen: HT, grid: g1, cathode: k, heater: m gnd }
g1 -- resistor R4 470k 0.5W -- gnd
k -- resistor R6 270R 3W -- gnd
${row}
`).filter(({ rule, severity }) => rule === "supply/heater-current" && severity === "error");
    expect(string("s -- resistor R9 8R2 10W -- m")).toHaveLength(1);
    expect(
      string(
        "valve V2 EL84 { plate: HT, screen: HT, grid: g2, cathode: j, heater: s m }\ng2 -- resistor R7 470k 0.5W -- gnd\nj -- resistor R8 270R 3W -- gnd",
      ),
    ).toHaveLength(1);
  });
});
