import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { check } from "../../../server/check.ts";
import type { Valve } from "../../../server/circuit/model.ts";
import { solutions, worst } from "../../../server/rules/frame/index.ts";

const text = readFileSync(new URL("../../../samples/brolga-35.ampnet", import.meta.url), "utf8");
const { circuit, analysis, margins } = check("brolga-35.ampnet", text);

describe("the solutions that a limit applies to", () => {
  it("are those of its states and levels, in order, whatever was asked for before", () => {
    const told = (where: Parameters<typeof solutions>[1]) =>
      solutions(analysis, where).map(({ state, level }) => `${state} ${level}`);
    expect(told({ states: ["cold", "idle"], levels: ["nominal"] })).toEqual(["cold nominal", "idle nominal"]);
    expect(told({ states: ["cold"], levels: ["low", "nominal"] })).toEqual(["cold low", "cold nominal"]);
    expect(told({ states: ["cold"], levels: ["nominal", "low"] })).toEqual(["cold nominal", "cold low"]);
    expect(told({ states: ["drive"] })).toEqual([]);
    expect(told({})).toHaveLength(3 * analysis.states.length);
    expect(solutions(analysis, { states: ["idle"] })).toBe(solutions(analysis, { states: ["idle"] }));
  });

  it("give the worst of a reading as a look through all of them does", () => {
    for (const part of circuit.parts) {
      if (part.kind !== "resistor") continue;
      const all = analysis.states.flatMap((state) =>
        (["low", "nominal", "high"] as const).map((level) => analysis.solution(state, level)),
      );
      const watts = all.map((solution) => solution?.readings.get(part.reference)?.watts ?? Number.NaN);
      const known = watts.filter((value) => !Number.isNaN(value));
      const found = worst(analysis, part.reference, "watts", { tolerance: "nominal" });
      expect(found?.value).toBe(known.length > 0 ? Math.max(...known) : undefined);
    }
  });
});

describe("margins that are kept by far", () => {
  it("have the parts' tolerances in them all the same: heater to cathode", () => {
    const sections = circuit.parts.filter((part): part is Valve => part.kind === "valve");
    let looked = 0;
    for (const margin of margins) {
      if (margin.rule !== "valve/heater-cathode" || margin.state === undefined) continue;
      const valve = sections.find(({ reference }) => reference === margin.on);
      const solution = margin.mains && analysis.solution(margin.state, margin.mains);
      if (!valve?.heater || !solution) continue;
      const { volts, peak, trough } = solution;
      const heaters = valve.heater.nets;
      // One of its sections, held to one side, with or without tolerances, is what was told.
      const apart = valve.sections.flatMap(({ electrodes }) => {
        const cathode = electrodes.get("cathode");
        if (cathode === undefined) return [];
        const band = solution.netBand(cathode, valve.reference);
        const swing = (peak[cathode] - trough[cathode]) / 2;
        const level = (volts[heaters[0]] + volts[heaters[1]]) / 2;
        const bottom = Math.min(...heaters.map((net) => trough[net]));
        const top = Math.max(...heaters.map((net) => peak[net]));
        return [band.low, volts[cathode], band.high].flatMap((at) => [
          at + swing - bottom,
          top - (at - swing),
          level - (at - swing),
        ]);
      });
      expect(Math.min(...apart.map((value) => Math.abs(value - margin.value)))).toBeLessThan(1e-9);
      looked++;
    }
    expect(looked).toBeGreaterThan(5);
  });
});
