import { describe, expect, it } from "vitest";
import { analyse } from "../../server/physics/analyse.ts";
import type { Solution, StateName } from "../../server/physics/results.ts";
import { Bench } from "./circuits.ts";

function solve(bench: Bench, state: StateName = "idle") {
  const circuit = bench.circuit();
  const solution = analyse(circuit).solution(state, "nominal")!;
  return {
    solution,
    volts: (net: string): number => solution.volts[circuit.netByName.get(net)!],
    floating: (solution as Solution).floating.map((net) => circuit.nets[net].name).sort(),
  };
}

/** A stage that works, beside whatever a test leaves out elsewhere. */
function withStage(): Bench {
  const bench = new Bench();
  bench.source("S1", "HT", "gnd", 300).resistor("R1", "HT", "p", 100e3).resistor("R2", "k", "gnd", 1500);
  bench.resistor("R3", "g", "gnd", 1e6).valve("V1", "ECC83", { a: { plate: "p", grid: "g", cathode: "k" } });
  return bench;
}

describe("nets that nothing fixes", () => {
  const alone = solve(withStage()).volts("p");

  it("a grid without a leak: its valve is taken at no bias, the rest stays as it was", () => {
    const bench = withStage();
    bench
      .resistor("R4", "HT", "p2", 100e3)
      .resistor("R5", "k2", "gnd", 1500)
      .capacitor("C1", "p", "g2", 22e-9);
    bench.valve("V2", "ECC83", { b: { plate: "p2", grid: "g2", cathode: "k2" } });
    const { solution, volts, floating } = solve(bench);
    expect(solution.solved).toBe(true);
    expect(floating).toEqual(["g2"]);
    expect(volts("g2")).toBeNaN();
    expect(volts("p")).toBeCloseTo(alone, 9);
    expect(solution.readings.get("V2.b.plate")!.amps).toBeGreaterThan(0.001);
    expect(solution.readings.get("V2.b.grid")!.amps).toBe(0);
  });

  it("a plate without a supply, a cathode without a return, two cathodes that share none", () => {
    const plate = withStage();
    plate
      .valve("V2", "ECC83", { a: { plate: "p2", grid: "gnd", cathode: "k2" } })
      .resistor("R5", "k2", "gnd", 1500);
    plate.capacitor("C1", "p2", "out", 1e-7).resistor("R6", "out", "gnd", 1e6);
    const noSupply = solve(plate);
    expect(noSupply.floating).toEqual(["p2"]);
    expect(noSupply.volts("p")).toBeCloseTo(alone, 9);

    const cathode = withStage();
    cathode
      .valve("V2", "ECC83", { a: { plate: "HT", grid: "gnd", cathode: "k2" } })
      .capacitor("C1", "k2", "gnd", 1e-5);
    const noReturn = solve(cathode);
    expect(noReturn.floating).toEqual(["k2"]);
    expect(noReturn.volts("p")).toBeCloseTo(alone, 9);
    expect(noReturn.solution.readings.get("V2.a.plate")!.amps).toBe(0);

    const pair = withStage();
    for (const [reference, end] of [
      ["V3", "pA"],
      ["V4", "pB"],
    ]) {
      pair.valve(reference, "EL84", { "": { plate: end, screen: "HT", grid: "gnd", cathode: "kO" } });
    }
    pair.outputTransformer("T2", ["pA", "HT", "pB"], 280).capacitor("C2", "kO", "gnd", 1e-4);
    const shared = solve(pair);
    expect(shared.solution.solved).toBe(true);
    expect(shared.floating).toEqual(["kO"]);
    expect(shared.volts("pA")).toBeCloseTo(300, 9);
    expect(shared.volts("p")).toBeCloseTo(alone, 9);
  });

  it("in the cold a net that only a warm valve fixes is dead, not floating", () => {
    const bench = new Bench();
    bench.source("S1", "HT", "gnd", 300).resistor("R1", "HT", "p", 100e3).resistor("R2", "k", "gnd", 1500);
    // A cascode: the joint of the two sections hangs on them alone.
    bench.valve("V1", "ECC83", {
      a: { plate: "joint", grid: "gnd", cathode: "k" },
      b: { plate: "p", grid: "gate", cathode: "joint" },
    });
    bench.resistor("R3", "HT", "gate", 470e3).resistor("R4", "gate", "gnd", 220e3);
    const warm = solve(bench);
    expect(warm.floating).toEqual([]);
    const cold = solve(bench, "cold");
    expect(cold.floating).toEqual([]);
    expect(cold.volts("p")).toBeCloseTo(300, 9);
    expect(Number.isFinite(cold.volts("joint"))).toBe(true);
  });

  it("a supply that no rectifier feeds yet stands at nought", () => {
    const bench = new Bench();
    bench.net("gnd");
    bench.source("S1", "ac", "gnd", 300).valve("V5", "EZ81", { "": { plate1: "ac", cathode: "HT" } });
    bench
      .capacitor("C1", "HT", "gnd", 32e-6, true)
      .resistor("R1", "HT", "p", 100e3)
      .resistor("R2", "k", "gnd", 1500);
    bench.valve("V1", "ECC83", { a: { plate: "p", grid: "gnd", cathode: "k" } });
    const cold = solve(bench, "cold");
    expect(cold.floating).toEqual([]);
    expect(cold.volts("HT")).toBe(0);
    expect(cold.volts("p")).toBe(0);
    expect(solve(bench).volts("HT")).toBeGreaterThan(280);
  });

  it("a directly heated rectifier and a semiconductor feed it at once", () => {
    for (const way of ["valve", "diode"]) {
      const bench = new Bench();
      bench.net("gnd");
      bench.source("S1", "ac", "gnd", 300);
      if (way === "valve") bench.valve("V5", "5U4GB", { "": { plate1: "ac", cathode: "HT" } });
      else bench.diode("D1", "ac", "HT");
      bench.capacitor("C1", "HT", "gnd", 32e-6, true).resistor("R1", "HT", "gnd", 470e3);
      expect(solve(bench, "cold").volts("HT"), way).toBeGreaterThan(285);
    }
  });
});

describe("what else conducts", () => {
  it("a zener holds its volts, a neon lamp strikes and holds, and neither is there below", () => {
    const bench = new Bench();
    bench.source("S1", "HT", "gnd", 300).resistor("R1", "HT", "z", 22e3).zener("Z1", "gnd", "z", 150);
    bench.resistor("R2", "HT", "n", 220e3).neon("LP1", "n", "gnd");
    bench.source("S2", "low", "gnd", 60).resistor("R3", "low", "n2", 220e3).neon("LP2", "n2", "gnd");
    const { volts, solution } = solve(bench);
    expect(Math.abs(volts("z") - 150)).toBeLessThan(1);
    expect(Math.abs(volts("n") - 61)).toBeLessThan(2);
    expect(volts("n2")).toBeCloseTo(60, 9);
    expect(solution.readings.get("LP1")!.amps).toBeCloseTo(239 / 220e3, 5);
  });

  it("a switch stands on, a standby switch opens in standby, and what is behind it falls to nought", () => {
    const bench = new Bench();
    bench.source("S9", "raw", "gnd", 300).switch("S2", "standby", "raw", { on: "HT" }, ["on", "off"]);
    bench
      .capacitor("C1", "HT", "gnd", 32e-6, true)
      .resistor("R1", "HT", "p", 100e3)
      .resistor("R2", "k", "gnd", 1500);
    bench.valve("V1", "ECC83", { a: { plate: "p", grid: "gnd", cathode: "k" } });
    expect(solve(bench).volts("HT")).toBe(300);
    const standby = solve(bench, "standby");
    expect(standby.volts("raw")).toBe(300);
    expect(Math.abs(standby.volts("HT"))).toBeLessThan(1e-6);
    expect(standby.floating).toEqual([]);
    expect(solve(bench).solution.readings.get("S2")!.amps).toBeGreaterThan(0.001);
  });

  it("pulled valves are gone, the rest is not", () => {
    const bench = withStage();
    bench.outputTransformer("T2", ["pA", "HT"], 200).resistor("R9", "k9", "gnd", 135);
    bench.resistor("R10", "plate", "pA", 47);
    bench.valve("V9", "EL84", { "": { plate: "plate", screen: "HT", grid: "gnd", cathode: "k9" } });
    const pulled = solve(bench, "pulled");
    expect(pulled.volts("k9")).toBe(0);
    expect(pulled.volts("plate")).toBe(300);
    expect(pulled.volts("p")).toBeCloseTo(solve(bench).volts("p"), 6);
  });

  it("pots turned to their ends, track shorted there, give the bias of each end", () => {
    const bench = new Bench();
    bench.source("S1", "HT", "gnd", 300).source("S2", "gnd", "neg", 20);
    bench
      .pot("R1", { top: "neg", wiper: "bias", bottom: "gnd" }, 10e3, 0.5)
      .resistor("R2", "bias", "g", 100e3);
    bench.valve("V1", "EL84", { "": { plate: "HT", screen: "HT", grid: "g", cathode: "gnd" } });
    const circuit = bench.circuit();
    const analysis = analyse(circuit);
    const grid = circuit.netByName.get("g")!;
    const at = (share: number): number =>
      analysis.atSettings(new Map([["R1", share]])).solution("idle", "nominal")!.volts[grid];
    expect(analysis.solution("idle", "nominal")!.volts[grid]).toBeCloseTo(-10, 6);
    expect(at(1)).toBeCloseTo(-20, 6);
    // At no bias the grid draws a little through its leak.
    expect(Math.abs(at(0))).toBeLessThan(1);
    expect(analysis.atSettings(new Map([["R1", 1]]))).toBe(analysis.atSettings(new Map([["R1", 1]])));
  });
});
