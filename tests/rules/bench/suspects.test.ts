/** What a reading points at that is no drift of a part. */
import { describe, expect, it } from "vitest";
import { findingsOf } from "../mains/told.ts";

const stage = (reading: string) => `amp "Suspects"
source B1 300V { plus: HT, minus: gnd }
HT -- resistor R1 100k 1W 350V metal-film -- p1
valve V1 ECC83 { a { plate: p1, grid: g1, cathode: k1 } }
g1 -- resistor R2 1M 0.5W -- gnd
k1 -- resistor R3 1k5 0.5W -- gnd
p1 -- capacitor C1 22n 630V film -- gl
gl -- resistor R4 470k 0.5W -- gnd
gl -- resistor R5 4k7 0.5W -- g2
valve V2 EL84 { plate: p2, screen: s2, grid: g2, cathode: k2 }
HT -- resistor R6 220R 1W -- s2
HT -- resistor R7 100R 5W wirewound -- p2
k2 -- resistor R8 270R 5W wirewound -- gnd
measured ${reading}
`;
const reading = (line: string) => findingsOf(stage(line)).find(({ rule }) => rule === "bench/reading");

describe("a grid that reads too high", () => {
  it("points at its coupling capacitor, by what its leak carries", () => {
    for (const at of ["g2", "gl", "V2.grid"]) {
      const found = reading(`${at} 4.7V`);
      // By hand: 4.7 V over 470 kΩ (the stopper carries nothing) is 10 µA.
      expect(found?.message).toMatch(
        /C1, leaking from p1 \(\d+ V\), would explain it: (10|9\.9) µA, as through/,
      );
      expect(found?.on).toContain("C1");
      expect(found?.message).toContain("high by 4.7 V");
      expect(found?.message).not.toContain("-0");
    }
  });
  it("does not where it reads too low, nor at a cathode", () => {
    expect(reading("g2 -4V")?.message).not.toContain("leaking from");
    expect(reading("k2 25V")?.message).not.toContain("leaking from");
  });
});

describe("a plate that reads as its supply", () => {
  it("points at a valve that draws nothing", () => {
    expect(reading("p1 299V")?.message).toContain("The valve draws next to nothing");
    expect(reading("p1 292V")?.message).toContain("The valve draws next to nothing");
  });
  it("does not where the load still drops a twentieth, nor on an output valve's", () => {
    expect(reading("p1 285V")?.message).not.toContain("draws next to nothing");
    expect(reading("p2 100V")?.message).not.toContain("draws next to nothing");
  });
});
