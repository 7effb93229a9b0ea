/**
 * Networks of sources, resistors, pots and wires against exact rational arithmetic: fraction.js (arbitrary precision) and plain
 * Gaussian elimination, which share nothing with the solver.
 */
import Fraction from "fraction.js";
import { describe, expect, it } from "vitest";
import { analyse } from "../../server/physics/analyse.ts";
import { Bench } from "./circuits.ts";
import { seeded } from "./networks.ts";

interface Branch {
  readonly a: string;
  readonly b: string;
  readonly ohms?: number;
  readonly volts?: number;
}

/** Exact volts of every net, gnd first at nought. Ideal sources get a current of their own. */
function exact(nets: string[], branches: readonly Branch[]): Map<string, Fraction> {
  const zero = new Fraction(0);
  const index = new Map(nets.filter((net) => net !== "gnd").map((net, k) => [net, k]));
  const ideal = branches.filter((branch) => branch.volts !== undefined && !branch.ohms);
  const size = index.size + ideal.length;
  const matrix = Array.from({ length: size }, () => new Array<Fraction>(size + 1).fill(zero));
  const add = (r: number | undefined, c: number | undefined, value: Fraction): void => {
    if (r !== undefined && c !== undefined) matrix[r][c] = matrix[r][c].add(value);
  };
  let extra = index.size;
  for (const branch of branches) {
    const a = index.get(branch.a);
    const b = index.get(branch.b);
    if (branch.ohms) {
      const g = new Fraction(1).div(new Fraction(branch.ohms));
      add(a, a, g);
      add(b, b, g);
      add(a, b, g.neg());
      add(b, a, g.neg());
      if (branch.volts !== undefined) {
        add(a, size, g.mul(branch.volts));
        add(b, size, g.mul(branch.volts).neg());
      }
    } else {
      const k = extra++;
      add(a, k, new Fraction(1));
      add(b, k, new Fraction(-1));
      add(k, a, new Fraction(1));
      add(k, b, new Fraction(-1));
      add(k, size, new Fraction(branch.volts!));
    }
  }
  for (let c = 0; c < size; c++) {
    const pivot = matrix.findIndex((row, r) => r >= c && !row[c].equals(0));
    [matrix[c], matrix[pivot]] = [matrix[pivot], matrix[c]];
    for (let r = 0; r < size; r++) {
      if (r === c || matrix[r][c].equals(0)) continue;
      const factor = matrix[r][c].div(matrix[c][c]);
      for (let k = c; k <= size; k++) {
        if (!matrix[c][k].equals(0)) matrix[r][k] = matrix[r][k].sub(factor.mul(matrix[c][k]));
      }
    }
  }
  const volts = new Map<string, Fraction>([["gnd", zero]]);
  for (const [net, k] of index) volts.set(net, matrix[k][size].div(matrix[k][k]));
  return volts;
}

const values = [1, 2.2, 10, 47, 100, 220, 1000, 4700, 10e3, 68e3, 100e3, 470e3, 1e6, 10e6];

describe("linear networks against exact arithmetic", () => {
  it("agree to 1e-9 relative on 150 generated netlists", () => {
    const random = seeded(2024);
    const pick = <T>(list: readonly T[]): T => list[Math.floor(random() * list.length)];
    for (let run = 0; run < 150; run++) {
      const bench = new Bench();
      const nets = ["gnd"];
      bench.net("gnd");
      const branches: Branch[] = [];
      const count = 3 + Math.floor(random() * 12);
      let part = 0;
      for (let k = 0; k < count; k++) {
        const name = `n${k}`;
        const to = pick(nets);
        const kind = random();
        if (kind < 0.15) {
          const volts = pick([1.5, 9, 250, -22, 400]);
          bench.source(`S${part++}`, name, to, volts);
          branches.push({ a: name, b: to, volts });
        } else if (kind < 0.3) {
          const volts = pick([1.5, 9, 250, -22, 400]);
          const ohms = pick(values);
          bench.source(`S${part++}`, name, to, volts, ohms);
          branches.push({ a: name, b: to, volts, ohms });
        } else {
          const ohms = pick(values);
          bench.resistor(`R${part++}`, name, to, ohms);
          branches.push({ a: name, b: to, ohms });
        }
        nets.push(name);
      }
      for (let k = 0; k < count; k++) {
        const a = pick(nets);
        const b = pick(nets);
        if (a === b) continue;
        if (random() < 0.25) {
          const wiper = pick(nets);
          const setting = pick([0.25, 0.5, 0.75]);
          const ohms = pick(values);
          bench.pot(`P${part++}`, { top: a, wiper, bottom: b }, ohms, setting);
          if (a !== wiper) branches.push({ a, b: wiper, ohms: ohms * (1 - setting) });
          if (b !== wiper) branches.push({ a: wiper, b, ohms: ohms * setting });
        } else {
          const ohms = pick(values);
          bench.resistor(`R${part++}`, a, b, ohms);
          branches.push({ a, b, ohms });
        }
      }
      bench.capacitor("C1", pick(nets), pick(nets), 1e-6);
      const circuit = bench.circuit();
      const solution = analyse(circuit).solution("idle", "nominal")!;
      expect(solution.solved).toBe(true);
      const expected = exact(nets, branches);
      let scale = 0;
      for (const value of expected.values()) scale = Math.max(scale, Math.abs(value.valueOf()));
      for (const [net, value] of expected) {
        const error = Math.abs(solution.volts[circuit.netByName.get(net)!] - value.valueOf());
        expect(error, `${net} of netlist ${run}`).toBeLessThanOrEqual(
          1e-9 * Math.abs(value.valueOf()) + 1e-11 * scale,
        );
      }
    }
  }, 60_000);
});

describe("what has no solution, or none for some nets", () => {
  it("tells a net without a dc path, and solves the rest exactly", () => {
    const bench = new Bench();
    bench.source("S1", "in", "gnd", 100).resistor("R1", "in", "mid", 1000).resistor("R2", "mid", "gnd", 1000);
    bench.capacitor("C1", "mid", "adrift", 1e-6).resistor("R3", "adrift", "adrift2", 1000);
    bench.source("S2", "iso+", "iso-", 9).resistor("R4", "iso+", "iso-", 900);
    const circuit = bench.circuit();
    const solution = analyse(circuit).solution("idle", "nominal")!;
    expect(solution.solved).toBe(true);
    const volts = (net: string): number => solution.volts[circuit.netByName.get(net)!];
    expect(volts("mid")).toBeCloseTo(50, 12);
    const floating = solution.floating.map((net) => circuit.nets[net].name).sort();
    expect(floating).toEqual(["adrift", "adrift2", "iso+", "iso-"]);
    for (const net of floating) expect(volts(net)).toBeNaN();
    // What does not depend on the missing path is still told.
    expect(solution.readings.get("R4")!.amps).toBeCloseTo(0.01, 12);
    expect(solution.readings.get("R3")!.amps).toBeCloseTo(0, 12);
    expect(solution.readings.get("C1")?.volts).toBeUndefined();
  });

  it("names the nets of sources that contradict each other, and takes ones that agree", () => {
    const clash = new Bench();
    clash.source("S1", "x", "gnd", 100).source("S2", "x", "gnd", 90).resistor("R1", "x", "gnd", 1000);
    const circuit = clash.circuit();
    const solution = analyse(circuit).solution("idle", "nominal")!;
    expect(solution.solved).toBe(false);
    expect(solution.trouble!.message).toContain("S2");
    expect(solution.trouble!.nets.map((net) => circuit.nets[net].name)).toContain("x");
    expect(solution.volts[circuit.netByName.get("x")!]).toBeNaN();
    expect(solution.readings.size).toBe(0);

    const shorted = new Bench();
    shorted.source("S1", "x", "gnd", 100).wire("W1", "x", "gnd");
    expect(analyse(shorted.circuit()).solution("idle", "nominal")!.trouble!.message).toContain(
      "short-circuited",
    );

    const agree = new Bench();
    agree.source("S1", "x", "gnd", 100).source("S2", "x", "y", 60).source("S3", "y", "gnd", 40);
    agree.resistor("R1", "y", "gnd", 1000);
    const same = agree.circuit();
    const solved = analyse(same).solution("idle", "nominal")!;
    expect(solved.solved).toBe(true);
    expect(solved.volts[same.netByName.get("y")!]).toBeCloseTo(40, 12);
  });

  it("is safe with values that make no sense", () => {
    for (const ohms of [0, -5, Number.NaN, Number.POSITIVE_INFINITY, 1e-300, 1e300]) {
      const bench = new Bench();
      bench.source("S1", "a", "gnd", 10).resistor("R1", "a", "b", ohms).resistor("R2", "b", "gnd", 1000);
      const solution = analyse(bench.circuit()).solution("idle", "nominal")!;
      expect(typeof solution.solved).toBe("boolean");
      expect(() => [
        solution.readings,
        solution.netBand(1),
        solution.sensitivity(1),
        solution.peak,
      ]).not.toThrow();
    }
    const empty = new Bench();
    expect(() => analyse(empty.circuit()).solution("idle", "nominal")!.readings).not.toThrow();
  });
});

describe("conductors without resistance", () => {
  it("tell their currents where they form a tree, and none in a ring", () => {
    const bench = new Bench();
    bench.source("S1", "a", "gnd", 100).fuse("F1", "a", "b").wire("W1", "b", "c");
    bench.resistor("R1", "b", "gnd", 1000).resistor("R2", "c", "gnd", 500);
    bench
      .wire("W2", "d", "e")
      .wire("W3", "e", "d")
      .resistor("R3", "a", "d", 100)
      .resistor("R4", "e", "gnd", 100);
    const solution = analyse(bench.circuit()).solution("idle", "nominal")!;
    expect(solution.readings.get("F1")!.amps).toBeCloseTo(0.3, 12);
    expect(solution.readings.get("W1")!.amps).toBeCloseTo(0.2, 12);
    expect(solution.readings.get("W2")?.amps).toBeUndefined();
    expect(solution.readings.get("R1")).toMatchObject({ volts: 100, amps: 0.1, rms: 0.1 });
    expect(solution.readings.get("R1")!.watts).toBeCloseTo(10, 12);
    expect(solution.readings.get("S1")!.amps).toBeCloseTo(0.8, 12);
    // The same by every part's band: the fuse carries what its load draws.
    const band = solution.band("F1", "amps")!;
    expect(band.high).toBeCloseTo(0.3 / 0.95, 9);
    expect(band.low).toBeCloseTo(0.3 * 0.95, 9);
  });
});
