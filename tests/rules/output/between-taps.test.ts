/** A loudspeaker between two taps: turns are as the root of the rated ohms, so that between 4 Ω and 16 Ω they ask for (4 − 2)² Ω. */
import { describe, expect, it } from "vitest";
import { told } from "../limits.ts";

const amp = (speakers: string) => `source B1 300V { plus: HT, minus: gnd }
HT -- resistor R4 220R 1W -- sA
HT -- resistor R5 220R 1W -- sB
valve V1 EL84 { plate: pA, screen: sA, grid: g1, cathode: k }
valve V2 EL84 { plate: pB, screen: sB, grid: g2, cathode: k }
g1 -- resistor R1 470k 0.5W -- gnd
g2 -- resistor R2 470k 0.5W -- gnd
k -- resistor R3 150R 5W wirewound -- gnd
output-transformer T1 20W { plates 8k 280R { pA HT pB }, speaker 4R-8R-16R { gnd s4 s8 s16 } }
${speakers}
`;
const mismatch = (speakers: string) => told(amp(speakers), "output/load-mismatch", "T1");

describe("a loudspeaker between two taps", () => {
  it.each([
    ["s16 -- speaker LS1 16R 30W -- s4", 16 / (4 - 2) ** 2],
    ["s4 -- speaker LS1 16R 30W -- s16", 16 / (4 - 2) ** 2],
    ["s16 -- speaker LS1 8R 30W -- s8", 8 / (4 - Math.sqrt(8)) ** 2],
  ])("%s is told once, with what the turns there ask for", (speakers, times) => {
    const [found, ...more] = mismatch(speakers);
    expect(more).toEqual([]);
    expect(found.message).toMatch(/^LS1: \d+ Ω between T1's taps of \d Ω and 16 Ω, whose turns ask for /);
    expect(found.message).toContain(`${times.toFixed(1)} times too high`);
    expect(found.on.filter((one) => one === "LS1")).toHaveLength(1);
  });
  it("is passed where it suits", () => {
    expect(mismatch("s16 -- speaker LS1 4R 30W -- s4")).toEqual([]);
  });
  it("takes what is left beside another", () => {
    // 8 Ω on its tap draws the whole stage, 4 Ω between 4 Ω and 16 Ω as much again.
    const two = "s8 -- speaker LS2 8R 30W -- gnd\ns16 -- speaker LS1 4R 30W -- s4";
    expect(mismatch(two)[0].message).toMatch(/^LS\d and LS\d: .*2\.0 times too low/);
  });
});
