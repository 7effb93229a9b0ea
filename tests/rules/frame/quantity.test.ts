import { describe, expect, it } from "vitest";
import {
  figure,
  listed,
  nextUp,
  percent,
  preferredAbove,
  preferredBelow,
  quantity,
} from "../../../server/rules/frame/index.ts";

describe("quantities as the trade writes them", () => {
  it.each([
    [437.2, "V", "437 V"],
    [0.3, "V", "0.3 V"],
    [0.03, "V", "30 mV"],
    [6.3, "V", "6.3 V"],
    [1250, "V", "1.25 kV"],
    [0.0234, "A", "23.4 mA"],
    [0.9999, "A", "1 A"],
    [2.5, "A", "2.5 A"],
    [0.5, "W", "0.5 W"],
    [12, "W", "12 W"],
    [0.025, "W", "25 mW"],
    [4700, "Ω", "4.7 kΩ"],
    [2.2e6, "Ω", "2.2 MΩ"],
    [0.08, "Ω", "80 mΩ"],
    [22e-9, "F", "22 nF"],
    [470e-6, "F", "470 µF"],
    [1500e-6, "F", "1500 µF"],
    [0.11, "m", "110 mm"],
    [1e-6, "m2", "1 mm²"],
    [0.75e-6, "m2", "0.75 mm²"],
    [0, "V", "0 V"],
    [-35, "V", "-35 V"],
  ] as const)("%d %s", (value, unit, text) => {
    expect(quantity(value, unit)).toBe(text);
  });

  it("never writes an exponent, and says when a number is none", () => {
    expect(figure(1234567)).toBe("1234567");
    expect(figure(Number.NaN)).toBe("an unknown");
    expect(quantity(Number.POSITIVE_INFINITY, "s")).toBe("an unlimited s");
  });

  it("rounds shares to whole percent above two", () => {
    expect([0.0925, 0.0186, 0.004, 1.5].map(percent)).toEqual(["9 %", "1.9 %", "0.4 %", "150 %"]);
  });

  it("lists names and cuts long lists", () => {
    expect(listed(["C1"])).toBe("C1");
    expect(listed(["C1", "C2"])).toBe("C1 and C2");
    expect(listed(["a", "b", "c", "d"], 3)).toBe("a, b and 2 more");
  });
});

// IEC 60063, E12 and E24.
describe("preferred values", () => {
  it.each([
    [1.12e6, 1e6],
    [1e6, 1e6],
    [9.99e5, 8.2e5],
    [47, 47],
    [0.5, 0.47],
  ])("below %d", (value, expected) => {
    expect(preferredBelow(value)).toBeCloseTo(expected, 9);
  });
  it.each([
    [1.12e6, 1.2e6],
    [91e3, 91e3],
    [8.3, 9.1],
  ])("above %d in E24", (value, expected) => {
    expect(preferredAbove(value, "E24")).toBeCloseTo(expected, 9);
  });
  it("ends past a list's end", () => {
    expect(nextUp(3, [1, 2, 5])).toBe(5);
    expect(nextUp(6, [1, 2, 5])).toBeUndefined();
  });
});
