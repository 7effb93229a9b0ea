import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { isBareNumber, isUnit, parseFuse, parseQuantity, parseSeries } from "../../grammar/quantity.ts";

/**
 * IEC 60062 (letter and digit code). The first eight resistances are the examples printed with the standard's scheme at
 * https://en.wikipedia.org/wiki/RKM_code; the others follow the same scheme and are from memory.
 */
const resistance: readonly [string, number][] = [
  ["R47", 0.47],
  ["4R7", 4.7],
  ["470R", 470],
  ["4K7", 4.7e3],
  ["47K", 47e3],
  ["47K3", 47.3e3],
  ["470K", 470e3],
  ["4M7", 4.7e6],
  ["R10", 0.1],
  ["R15", 0.15],
  ["R332", 0.332],
  ["K47", 470],
  ["M47", 470e3],
  ["1R0", 1],
  ["1R5", 1.5],
  ["3R32", 3.32],
  ["5R90", 5.9],
  ["10R", 10],
  ["15R", 15],
  ["33R2", 33.2],
  ["59R", 59],
  ["100R", 100],
  ["332R", 332],
  ["1K0", 1e3],
  ["1K5", 1.5e3],
  ["3K32", 3.32e3],
  ["10K", 10e3],
  ["33K2", 33.2e3],
  ["332K", 332e3],
  ["1M0", 1e6],
  ["1M5", 1.5e6],
  ["3M32", 3.32e6],
  ["10M", 10e6],
  ["1G0", 1e9],
];
const capacitance: readonly [string, number][] = [
  ["n33", 330e-12],
  ["µ47", 470e-9],
  ["1m0", 1e-3],
  ["p10", 0.1e-12],
  ["p332", 0.332e-12],
  ["1p0", 1e-12],
  ["1p5", 1.5e-12],
  ["3p32", 3.32e-12],
  ["10p", 10e-12],
  ["33p2", 33.2e-12],
  ["100p", 100e-12],
  ["1n0", 1e-9],
  ["1n5", 1.5e-9],
  ["3n32", 3.32e-9],
  ["10n", 10e-9],
  ["33n2", 33.2e-9],
  ["100n", 100e-9],
  ["1µ0", 1e-6],
  ["1µ5", 1.5e-6],
  ["3µ32", 3.32e-6],
  ["33µ2", 33.2e-6],
  ["10m", 10e-3],
];

describe("IEC 60062 letter notation", () => {
  it.each(resistance)("%s is %d ohm", (text, ohms) => {
    const read = parseQuantity(text);
    expect(read?.value).toBeCloseTo(ohms, 12);
    expect(read!.value / ohms).toBeCloseTo(1, 14);
    expect(["ohm", "none"]).toContain(read?.unit);
  });
  it.each(capacitance)("%s is %d farad", (text, farads) => {
    const read = parseQuantity(text);
    expect(read!.value / farads).toBeCloseTo(1, 14);
    expect(read?.unit).toBe("none");
  });
  it("takes R and Ω for the ohm, and leaves the multipliers to their place", () => {
    expect(parseQuantity("R47")).toEqual({ value: 0.47, unit: "ohm" });
    expect(parseQuantity("4Ω7")).toEqual({ value: 4.7, unit: "ohm" });
    expect(parseQuantity("4k7")).toEqual({ value: 4700, unit: "none" });
    expect(parseQuantity("4k7Ω")).toEqual({ value: 4700, unit: "ohm" });
  });
  it("takes the letter of any unit so, as zeners and heaters are written", () => {
    expect(parseQuantity("5V6")).toEqual({ value: 5.6, unit: "volt" });
    expect(parseQuantity("6V3")).toEqual({ value: 6.3, unit: "volt" });
    expect(parseQuantity("1A6")).toEqual({ value: 1.6, unit: "ampere" });
  });
});

describe("values as the language's definition writes them", () => {
  it.each([
    ["4k7", 4700, "none"],
    ["2M2", 2.2e6, "none"],
    ["R47", 0.47, "ohm"],
    ["100R", 100, "ohm"],
    ["22n", 22e-9, "none"],
    ["4u7", 4.7e-6, "none"],
    ["1p5", 1.5e-12, "none"],
    ["4.7k", 4700, "none"],
    ["4.7kΩ", 4700, "ohm"],
    ["4.7k\u2126", 4700, "ohm"],
    ["4.7kohm", 4700, "ohm"],
    ["0.022uF", 22e-9, "farad"],
    ["22nF", 22e-9, "farad"],
    ["0.5W", 0.5, "watt"],
    ["500mA", 0.5, "ampere"],
    ["230V", 230, "volt"],
    ["2.5kV", 2500, "volt"],
    ["1.0mm2", 1e-6, "square-metre"],
    ["1mm²", 1e-6, "square-metre"],
    ["60mm", 0.06, "metre"],
    ["45C", 45, "celsius"],
    ["45°C", 45, "celsius"],
    ["5%", 5, "percent"],
    ["1/2W", 0.5, "watt"],
    ["½W", 0.5, "watt"],
    ["1½W", 1.5, "watt"],
    ["¼W", 0.25, "watt"],
    ["80VA", 80, "voltampere"],
    ["50Hz", 50, "hertz"],
    ["10H", 10, "henry"],
    ["+10%", 10, "percent"],
    ["-6%", -6, "percent"],
    ["−6%", -6, "percent"],
    [".047u", 0.047e-6, "none"],
    ["1Meg", 1e6, "none"],
    ["250M", 250e6, "none"],
    ["10ms", 0.01, "second"],
    ["0", 0, "none"],
  ])("%s is %d %s", (text, value, unit) => {
    expect(parseQuantity(text)).toEqual({ value, unit });
  });
  it("marks alternating volts", () => {
    expect(parseQuantity("275VAC")).toEqual({ value: 275, unit: "volt", alternating: true });
    expect(parseQuantity("1kVAC")).toEqual({ value: 1000, unit: "volt", alternating: true });
  });
  it("takes µ (micro sign), μ (Greek mu) and u for one", () => {
    expect(parseQuantity("32\u00B5")).toEqual(parseQuantity("32u"));
    expect(parseQuantity("32\u03BC")).toEqual(parseQuantity("32u"));
    expect(parseQuantity("4\u03BC7")).toEqual(parseQuantity("4u7"));
  });
  it("tells mega from milli", () => {
    expect(parseQuantity("1M")?.value).toBe(1e6);
    expect(parseQuantity("1m")?.value).toBe(1e-3);
    expect(parseQuantity("1MΩ")?.value).toBe(1e6);
    expect(parseQuantity("1mA")?.value).toBe(1e-3);
  });
});

describe("what is no value", () => {
  it.each([
    "12AX7",
    "EL84",
    "6V6GTA",
    "5Y3GT",
    "6L6GC",
    "1N4007",
    "film",
    "gnd",
    "X2",
    "H",
    "C20",
    "V1.a",
    "4.",
    "1/0W",
    "10Q",
    "",
    "-",
    "+",
    "green-yellow",
    "2026-03-01",
    "4k7k",
    "kV",
    "--",
    "1e999",
  ])("%j", (text) => {
    expect(parseQuantity(text)).toBeUndefined();
  });
});

describe("series", () => {
  const volts = (...values: number[]) => values.map((value) => ({ value, unit: "volt" }));
  it("gives each value the unit of the last", () => {
    expect(parseSeries("290-0-290V")).toEqual(volts(290, 0, 290));
    expect(parseSeries("300-0-55-300V")).toEqual(volts(300, 0, 55, 300));
    expect(parseSeries("0-220-240V")).toEqual(volts(0, 220, 240));
    expect(parseSeries("0-6.3V")).toEqual(volts(0, 6.3));
  });
  it("keeps a unit of its own, and carries a prefix to bare numbers", () => {
    expect(parseSeries("4R-8R-16R")?.map(({ value, unit }) => [value, unit])).toEqual([
      [4, "ohm"],
      [8, "ohm"],
      [16, "ohm"],
    ]);
    expect(parseSeries("0-1-2kV")).toEqual(volts(0, 1000, 2000));
  });
  it.each(["carbon-film", "V", "4R-8V", "290V", "-6%", "1N-4", "290-V", "290-", "own-fixing"])(
    "%s is none",
    (text) => {
      expect(parseSeries(text)).toBeUndefined();
    },
  );
});

describe("fuses, IEC 60127-1 letters", () => {
  it.each([
    ["T500mA", "T", 0.5],
    ["F1.6A", "F", 1.6],
    ["T0.5A", "T", 0.5],
    ["FF2A", "FF", 2],
    ["TT1A", "TT", 1],
    ["M250mA", "M", 0.25],
    ["T3A15", "T", 3.15],
  ])("%s", (text, letter, amps) => {
    expect(parseFuse(text)).toEqual({ letter, amps });
  });
  it.each(["F1", "T500", "T250V", "S2A", "T"])("%s is none", (text) => {
    expect(parseFuse(text)).toBeUndefined();
  });
});

describe("numbers and units apart", () => {
  it("knows a bare number", () => {
    for (const text of ["230", "0.5", "1/2", "½", "+10"]) expect(isBareNumber(text)).toBe(true);
    for (const text of ["4k7", "230V", "R47", "a"]) expect(isBareNumber(text)).toBe(false);
  });
  it("knows a unit", () => {
    for (const text of ["V", "kΩ", "nF", "mm2", "%", "Hz", "k", "VAC"]) expect(isUnit(text)).toBe(true);
    for (const text of ["AU", "film", "a", "v", "Vk", "toString"]) expect(isUnit(text)).toBe(false);
  });
});

describe("properties", () => {
  const number = fc
    .integer({ min: 0, max: 99999 })
    .chain((whole) =>
      fc.integer({ min: 0, max: 999 }).map((part) => ({ whole, part: String(part).padStart(3, "0") })),
    );
  const prefix = fc.constantFrom<[string, number]>(
    ["p", -12],
    ["n", -9],
    ["u", -6],
    ["m", -3],
    ["k", 3],
    ["M", 6],
  );

  it("letter notation and the decimal point agree to the last bit with the number's own reading", () => {
    fc.assert(
      fc.property(number, prefix, ({ whole, part }, [letter, power]) => {
        const value = Number(`${whole}.${part}e${power}`);
        expect(parseQuantity(`${whole}${letter}${part}`)?.value).toBe(value);
        expect(parseQuantity(`${whole}.${part}${letter}`)?.value).toBe(value);
        expect(parseQuantity(`${whole}.${part}${letter}V`)).toEqual({ value, unit: "volt" });
      }),
    );
  });
  it("never throws", () => {
    fc.assert(
      fc.property(fc.string({ unit: "binary", maxLength: 20 }), (text) => {
        parseQuantity(text);
        parseSeries(text);
        parseFuse(text);
      }),
    );
  });
});
