/** supply/ripple on what a single-ended output stage lives on. The 1 % is common practice. */
import { describe, expect, it } from "vitest";
import { analysisOf, told } from "../limits.ts";

const supply = (filter: string, volts = 260) => `transformer T1 100VA {
  primary 230V 10R               { a b }
  ht      ${volts}-0-${volts}V 150mA 120R { htA gnd htB }
}
htA -- diode D1 1N4007 -- HT1
htB -- diode D2 1N4007 -- HT1
HT1 -- capacitor C1 22u 450V electrolytic -- gnd
HT1 -- resistor R1 330R 10W wirewound -- HT2
${filter}
`;
const pentode = (filter: string, more = "", feed = "HT2") => `${supply(filter)}${more}
valve V1 EL84 { plate: pO, screen: sO, grid: g1, cathode: k1 }
HT2 -- resistor R2 100R 1W -- sO
g1 -- resistor R3 470k 0.5W -- gnd
k1 -- resistor R4 180R 5W -- gnd
k1 -- capacitor C4 100u 25V electrolytic -- gnd
output-transformer T2 8W {
  plates  5k 60mA 250R { pO ${feed} }
  speaker 8R 0.4R      { spk gnd }
}
spk -- speaker LS1 8R 15W -- gnd
`;
const cap = (value: string) => `HT2 -- capacitor C2 ${value} 450V electrolytic -- gnd`;
const of = (text: string, on = "HT2") =>
  told(text, "supply/ripple", on).map(({ severity, message }) => `${severity} ${message}`);
const share = (text: string, name: string) => {
  const analysis = analysisOf(text);
  const idle = analysis.solution("idle", "nominal");
  const net = analysis.circuit.nets.find((one) => one.name === name)?.index ?? -1;
  return (idle?.ripple[net] ?? Number.NaN) / (idle?.volts[net] ?? Number.NaN);
};

describe("supply/ripple: a single-ended output stage", () => {
  it("is told where the filter's capacitor is missing, or a small part of what belongs there", () => {
    for (const filter of ["", cap("470n"), cap("1u")]) {
      const [found, ...more] = of(pentode(filter));
      expect(more).toEqual([]);
      expect(found).toMatch(
        /^advice HT2, which feeds V1's screen, has a ripple of [\d.]+ V .*within 1 %.*T2 cancels none/,
      );
    }
  });

  it("is told from 1 % on: as computed on both sides of it", () => {
    const sizes = [1, 1.5, 2.2, 3.3, 4.7, 6.8, 10, 15, 22, 32];
    const seen = sizes.map((size) => {
      const text = pentode(cap(`${size}u`));
      const past = share(text, "HT2") > 0.01;
      expect(of(text).length > 0, `${size} µF, ${share(text, "HT2")}`).toBe(past);
      return past;
    });
    expect(new Set(seen)).toEqual(new Set([true, false]));
  });

  it("is quiet on a pentode's plate straight from its reservoir, its screen behind the filter", () => {
    const text = pentode(cap("47u"), "", "HT1");
    expect(share(text, "HT1")).toBeGreaterThan(0.01);
    expect([...of(text), ...of(text, "HT1")]).toEqual([]);
  });

  it("holds a triode's plate supply, and a pentode's wired as one", () => {
    const wired = pentode("", "", "HT1").replace("HT2 -- resistor R2", "pO -- resistor R2");
    expect(of(wired.replace("screen: sO", "screen: pO"), "HT1").join()).toMatch(
      /feeds V1's plate, has a ripple/,
    );
    const triode = wired
      .replace("EL84 { plate: pO, screen: sO,", "2A3 { plate: pO,")
      .replace(/pO -- resistor R2.*\n/, "")
      .replace("R4 180R", "R4 750R");
    expect(of(triode, "HT1").join()).toMatch(/feeds V1's plate, has a ripple/);
  });

  it("holds the primary's end of an ultralinear stage, not the tap", () => {
    const tapped = pentode("")
      .replace(/HT2 -- resistor R2.*\n/, "")
      .replace("screen: sO", "screen: uO")
      .replace("plates  5k 60mA 250R { pO HT2 }", "plates  5k 43% 60mA 250R { pO uO HT2 }");
    expect(of(tapped).join()).toMatch(/feeds V1's plate and screen/);
  });

  it("is quiet on a push-pull stage, whose transformer cancels it", () => {
    const pair = `${supply("")}valve V1 EL84 { plate: pA, screen: HT2, grid: g1, cathode: k1 }
valve V2 EL84 { plate: pB, screen: HT2, grid: g2, cathode: k1 }
g1 -- resistor R3 470k 0.5W -- gnd
g2 -- resistor R5 470k 0.5W -- gnd
k1 -- resistor R4 150R 5W -- gnd
output-transformer T2 20W {
  plates  8k 250R { pA HT2 pB }
  speaker 8R 0.4R { spk gnd }
}
spk -- speaker LS1 8R 30W -- gnd
`;
    expect(share(pair, "HT2")).toBeGreaterThan(0.01);
    expect(of(pair)).toEqual([]);
  });
});
