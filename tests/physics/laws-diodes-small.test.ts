/** Small diodes by their forward curves: what their sheets print at one current, and how little they move about it. */
import { describe, expect, it } from "vitest";
import { check } from "../../server/check.ts";
import { semiconductorLaw } from "../../server/physics/laws/index.ts";

const volts = (type: string, amps: number): number => {
  const out = new Float64Array(2);
  semiconductorLaw(type).inverse!(amps, out);
  return out[0];
};

describe("diodes of small currents", () => {
  // Sheets of 5 mm indicator diodes, from memory: 1.5 to 2.0 V red, 1.9 to 2.4 V green, 1.0 to 1.3 V infrared, between 1 and 20 mA.
  it.each([
    ["LED", 1.5, 2.0],
    ["red-LED", 1.5, 2.0],
    ["LED-green", 1.9, 2.4],
    ["IR-LED", 1.0, 1.3],
  ])("%s drops %s to %s V", (type, least, most) => {
    for (const amps of [0.001, 0.003, 0.01, 0.02]) {
      expect(volts(type, amps)).toBeGreaterThan(least);
      expect(volts(type, amps)).toBeLessThan(most);
    }
    // As a cathode's bias it moves by some 20 ohm at 3 mA.
    const ohms = (volts(type, 0.0033) - volts(type, 0.0027)) / 0.0006;
    expect(ohms).toBeGreaterThan(8);
    expect(ohms).toBeLessThan(40);
  });
  it("a 1N4148 drops less than its limit of 1 V at 10 mA, and more than half a volt at 1 mA", () => {
    expect(volts("1N4148", 0.01)).toBeLessThan(0.8);
    expect(volts("1N914", 0.001)).toBeGreaterThan(0.5);
  });
  it("holds a cathode where it is to be", () => {
    const { analysis, circuit } = check(
      "a.ampnet",
      `source B1 250V { plus: HT, minus: gnd }
valve V1 12AU7 { a { plate: p, grid: g, cathode: k } }
HT -- resistor R1 47k 2W -- p
g -- resistor R2 1M 0.5W -- gnd
k -- diode D1 LED -- gnd
`,
    );
    expect(circuit.problems.filter(({ message }) => message.includes("D1"))).toEqual([]);
    const idle = analysis.solution("idle", "nominal")!;
    const k = circuit.nets.findIndex(({ name }) => name === "k");
    expect(idle.volts[k]).toBeGreaterThan(1.6);
    expect(idle.volts[k]).toBeLessThan(1.75);
  });
});
