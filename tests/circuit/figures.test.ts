/** Defaults and estimates against the figures that they were taken from. */
import { describe, expect, it } from "vitest";
import { regions } from "../../server/facts/regions.ts";
import { bodyRows, lowestBodyVolts } from "../../server/facts/resistors.ts";
import * as tolerances from "../../server/facts/tolerances.ts";
import { chokeTimeConstant, noLoadRiseAt, outputCopper } from "../../server/facts/transformers.ts";

describe("working volts of resistor bodies", () => {
  // The lowest of each column of limiting element voltages over the sheets of composition, carbon film, metal film and
  // metal oxide types: MIL-R-11 sizes, CFR and MFR series (normal and miniature), MF series (normal and small), MOS series.
  it.each([
    [0.125, 150],
    [0.25, 150],
    [0.5, 250],
    [1, 300],
    [2, 350],
    [3, 500],
    [5, 500],
  ])("of an unmarked part of %f W are %i", (watts, volts) => {
    expect(lowestBodyVolts(watts, undefined)?.volts).toBe(volts);
  });
  it.each([
    // MIL-R-11 RC07 to RC42.
    ["carbon-composition", 0.25, 250],
    ["carbon-composition", 0.5, 350],
    ["carbon-composition", 1, 500],
    // Miniature bodies of the CFR sheet.
    ["carbon-film", 0.25, 200],
    ["carbon-film", 0.5, 300],
    ["carbon-film", 1, 400],
    // Small bodies of the MF sheet.
    ["metal-film", 0.5, 250],
    ["metal-film", 2, 350],
    ["metal-oxide", 1, 350],
  ] as const)("of %s at %f W are %i", (material, watts, volts) => {
    expect(lowestBodyVolts(watts, material)?.volts).toBe(volts);
  });
  it("between two sizes are those of the smaller, below the table those of the smallest", () => {
    expect(lowestBodyVolts(0.6, "metal-film")?.volts).toBe(250);
    expect(lowestBodyVolts(0.05, "carbon-film")?.volts).toBe(150);
    expect(lowestBodyVolts(0.167, "metal-film")?.volts).toBe(200);
    expect(lowestBodyVolts(10, "metal-film")?.volts).toBe(500);
    expect(lowestBodyVolts(5, "wirewound")).toBeUndefined();
  });
  it("are never above another sheet's for the same body", () => {
    for (const row of bodyRows) {
      expect(lowestBodyVolts(row.watts, row.material)?.volts ?? 0).toBeLessThanOrEqual(row.volts);
    }
  });
  it("rise with size", () => {
    for (const material of [
      "carbon-composition",
      "carbon-film",
      "metal-film",
      "metal-oxide",
      undefined,
    ] as const) {
      const volts = [0.125, 0.25, 0.5, 1, 2, 3, 5].map((watts) => lowestBodyVolts(watts, material)!.volts);
      expect(
        [...volts].sort((one, other) => one - other),
        material,
      ).toEqual(volts);
    }
  });
});

describe("estimates of winding resistance", () => {
  it("give a no-load rise of 10 to 20 % below 100 VA and 5 to 10 % above (common practice)", () => {
    for (const size of [5, 20, 40, 80, 99]) {
      expect(noLoadRiseAt(size)).toBeGreaterThanOrEqual(0.1);
      expect(noLoadRiseAt(size)).toBeLessThanOrEqual(0.2);
    }
    for (const size of [101, 200, 400, 1000]) {
      expect(noLoadRiseAt(size)).toBeGreaterThanOrEqual(0.05);
      expect(noLoadRiseAt(size)).toBeLessThanOrEqual(0.1);
    }
    expect(noLoadRiseAt(Number.NaN)).toBe(0.2);
  });
  it("fall without a step as the size grows", () => {
    let last = noLoadRiseAt(1);
    for (let size = 2; size < 600; size++) {
      const rise = noLoadRiseAt(size);
      expect(rise).toBeLessThanOrEqual(last);
      expect(last - rise).toBeLessThan(0.005);
      last = rise;
    }
  });
  it("put a choke at 20 to 25 ohms a henry, an output transformer at 3 to 6 % (common practice)", () => {
    expect(1 / chokeTimeConstant.value).toBeGreaterThan(20);
    expect(1 / chokeTimeConstant.value).toBeLessThan(25);
    for (const { value } of Object.values(outputCopper)) {
      expect(value).toBeGreaterThanOrEqual(0.03);
      expect(value).toBeLessThanOrEqual(0.06);
    }
  });
});

describe("figures", () => {
  it("all say where they come from", () => {
    const figures = [
      ...Object.values(tolerances.resistorTolerance),
      ...Object.values(tolerances.capacitorTolerance),
      tolerances.potTolerance,
      tolerances.chokeTolerance,
      ...bodyRows,
      ...Object.values(regions),
      ...Object.values(outputCopper),
    ];
    for (const figure of figures) {
      expect(figure.source.length).toBeGreaterThan(4);
      expect(["seen", "memory", "practice", "computed"]).toContain(figure.evidence);
    }
  });
});
