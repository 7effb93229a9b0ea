/** What the table of voltages says of leads that alternate: no nought where nothing was found. */
import { describe, expect, it } from "vitest";
import { check } from "../../server/check.ts";
import { voltsReport } from "../../server/reports/volts.ts";
import { example } from "../../server/rules/mains/example.ts";

const parts = (rest: string) => {
  const result = check(
    "volts.ampnet",
    example({ name: "Volts", rest: `h1 -- lamp LP1 6.3V 5A -- gnd\n${rest}` }),
  );
  return voltsReport(result).states.idle?.nominal?.parts ?? {};
};

describe("a fuse and a switch on the mains", () => {
  it("carry what the primary takes", () => {
    const found = parts("");
    expect(found.F1.rms).toBeGreaterThan(0.01);
    expect(found.S1.rms).toBeCloseTo(found.F1.rms ?? Number.NaN, 9);
  });
  it("are told without a current where a capacitor beside the primary leaves it unknown", () => {
    const found = parts(
      "live -- capacitor C1 100n X2 275VAC film -- inN\nlive -- resistor R1 470k 1W 500V -- inN",
    );
    expect(found.F1).toEqual({ volts: 0 });
    expect(found.S1).toEqual({ volts: 0 });
  });
});
