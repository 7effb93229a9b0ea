import { describe, expect, it } from "vitest";
import type { CheckResult } from "../../server/check.ts";
import type { Circuit, MainsLevel } from "../../server/circuit/model.ts";
import type { Analysis, Solution, StateName } from "../../server/physics/results.ts";
import { voltsSchema } from "../../server/reports/schema.ts";
import { style } from "../../server/reports/style.ts";
import { meterVolts } from "../../server/reports/units.ts";
import { voltsReport } from "../../server/reports/volts.ts";
import { voltsText } from "../../server/reports/voltsText.ts";
import { fakeResult, fakeSolution } from "./fake.ts";

/** Two nets, of which `HT1` is also called `B+`; T1 with its volt-amperes; C1 that empties with valves in alone. */
function amplifier(
  solution: (
    state: StateName,
    level: MainsLevel,
  ) => Partial<Omit<Solution, "volts">> & { readonly volts?: ArrayLike<number> },
): CheckResult {
  const scale: Record<MainsLevel, number> = { low: 0.9, nominal: 1, high: 1.1 };
  const stored = (secondsTo60V: number) =>
    new Map([["C1", { joules: 2.5, volts: 320, secondsTo60V, secondsTo50V: secondsTo60V * 1.1 }]]);
  const circuit = {
    name: "Test",
    partByReference: new Map(),
    netByName: new Map([
      ["HT1", 0],
      ["B+", 0],
      ["k1", 1],
    ]),
    mains: {
      given: true,
      hertz: 50,
      region: "AU",
      volts: { low: 207, nominal: 230, high: 253 },
      toleranceSource: "a standard",
    },
  } as unknown as Circuit;
  const analysis: Analysis = {
    circuit,
    states: ["cold", "idle"],
    solution: (state, level) =>
      fakeSolution({
        state,
        level,
        volts: [312 * scale[level], 1.35 * scale[level]],
        ...(solution(state, level) as object),
      }),
    discharge: new Map([["high", { warm: stored(12), out: stored(Number.POSITIVE_INFINITY) }]]),
    drive: () => [
      {
        stage: "T2",
        watts: 17,
        limit: "grid-current",
        levels: [],
        worst: new Map([["V3.plate", { watts: 12.4, level: 0.6 }]]),
      },
    ],
    hotSwitch: new Map([["V5.plate1", 1.2]]),
    atSettings: () => analysis,
    unlit: () => new Set(),
    unsolved: () => undefined,
    stillWarm: () => undefined,
    *everything() {},
  };
  return fakeResult({ "a.ampnet": "" }, [], { circuit, analysis });
}

const steady = amplifier(() => ({
  ripple: Float64Array.from([4.2, 0]),
  readings: new Map([
    ["R5", { volts: 90, amps: 0.0009, watts: 0.081, rms: 0.0009 }],
    ["T1.primary", { rms: 0.31, voltAmperes: 71, watts: 64 }],
    ["D1", { inverse: Number.NaN }],
  ]),
}));

describe("JSON of voltages", () => {
  it("has the promised shape and every name of a net", () => {
    const report = voltsSchema.parse(JSON.parse(JSON.stringify(voltsReport(steady))));
    expect(report.mains).toEqual({ low: 207, nominal: 230, high: 253 });
    const idle = report.states.idle?.high;
    expect(idle?.nets.HT1).toMatchObject({ volts: 312 * 1.1, ripple: 4.2 });
    expect(idle?.nets["B+"]).toEqual(idle?.nets.HT1);
    expect(idle?.nets.HT1.low).toBeLessThan(343);
    expect(idle?.parts["T1.primary"]).toEqual({ rms: 0.31, va: 71, watts: 64 });
    expect(idle?.parts.D1).toEqual({ inverse: null });
    expect(Object.keys(report.states)).toEqual(["cold", "idle"]);
  });

  it("carries the discharge with valves in and out; null where nothing ever empties it", () => {
    const { discharge, dischargeValvesOut } = voltsReport(steady);
    expect(discharge.high?.C1).toMatchObject({ joules: 2.5, secondsTo60V: 12 });
    expect(dischargeValvesOut.high?.C1).toMatchObject({
      joules: 2.5,
      secondsTo60V: null,
      secondsTo50V: null,
    });
  });

  it("carries the driven stages and the hot-switching peak", () => {
    const report = voltsReport(steady);
    expect(report.drive.nominal?.[0]).toEqual({
      stage: "T2",
      watts: 17,
      limit: "grid-current",
      worst: { "V3.plate": { watts: 12.4, level: 0.6 } },
    });
    expect(report.hotSwitch).toEqual({ "V5.plate1": 1.2 });
  });

  it("gives one state and one level when asked", () => {
    const report = voltsReport(steady, { states: ["idle"], mains: ["low"] });
    expect(Object.keys(report.states)).toEqual(["idle"]);
    expect(Object.keys(report.states.idle ?? {})).toEqual(["low"]);
    expect(report.discharge).toEqual({});
  });

  it("gives null and the trouble where nothing was solved", () => {
    const none = amplifier((_, level) =>
      level === "high"
        ? {
            solved: false,
            trouble: { message: "HT1 has no path", nets: [0] },
            volts: Float64Array.from([Number.NaN, Number.NaN]),
          }
        : {},
    );
    const high = voltsReport(none).states.idle?.high;
    expect(high).toMatchObject({ solved: false, trouble: "HT1 has no path" });
    expect(high?.nets.HT1).toMatchObject({ volts: null, low: null, high: null });
  });
});

describe("table of voltages", () => {
  const options = { style: style(false), width: 100 };

  it("has a row for each net, a column for each mains level, the band and the ripple", () => {
    const page = voltsText(voltsReport(steady), options);
    expect(page).toContain("Mains 230.0 V 50 Hz AU, from 207.0 to 253.0 V (a standard).");
    expect(page).toContain("idle: everything warm, no signal");
    const rows = page.split("\n").map((line) => line.trim().split(/ {2,}/));
    expect(rows).toContainEqual(["HT1", "280.8", "312.0", "343.2", "280.8 … 343.2", "4.2 V"]);
    expect(rows).toContainEqual(["k1", "1.215", "1.350", "1.485", "1.215 … 1.485"]);
  });

  it("never shows a live mains net or a winding's end as nothing", () => {
    const live = amplifier(() => ({
      volts: [0, 1.35],
      rms: Float64Array.from([230, 0]),
      ripple: Float64Array.from([650.5, 0]),
    }));
    const rows = voltsText(voltsReport(live), options)
      .split("\n")
      .map((line) => line.trim().split(/ {2,}/));
    expect(rows).toContainEqual(["HT1", "230.0 ac", "230.0 ac", "230.0 ac"]);
  });

  it("shows the parts, and how long the capacitors hold, when asked", () => {
    const page = voltsText(voltsReport(steady), { ...options, parts: true });
    expect(page).toMatch(/R5 .*900 µA .*0\.081|R5 .*900 µA .*81 mW/);
    expect(page).toMatch(/C1 +320\.0 +2\.5 J +12 s +never/);
  });

  it("says where there is no solution, and gives the cautions", () => {
    const none = amplifier((_, level) =>
      level === "low" ? { solved: false, trouble: { message: "HT1 has no path to common", nets: [] } } : {},
    );
    const page = voltsText(voltsReport(none), options);
    expect(page).toContain("No solution at low mains: HT1 has no path to common");
    expect(page).toMatch(/one hand/);
    expect(page).toMatch(/unplugged, discharged and\s+measured dead/);
  });
});

describe("meter volts", () => {
  it.each([
    [312.04, "312.0"],
    [11.204, "11.20"],
    [-0.8531, "-0.853"],
    [1.35, "1.350"],
    [1234.4, "1234"],
    [99.96, "100.0"],
    [0.0001, "0"],
    [-0.0001, "0"],
    [Number.NaN, "–"],
    [null, "–"],
  ])("%s reads %s", (value, text) => {
    expect(meterVolts(value)).toBe(text);
  });
});
