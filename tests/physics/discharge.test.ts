/** How capacitors empty, against the closed form of one, and against a general library's integration (odex) of several. */
import { createRequire } from "node:module";
import { describe, expect, it } from "vitest";
import { parse } from "../../grammar/parse.ts";
import { buildCircuit } from "../../server/circuit/build.ts";
import type { Circuit } from "../../server/circuit/model.ts";
import { analyse } from "../../server/physics/analyse.ts";
import { publishedLaws } from "../../server/physics/dc/elements.ts";
import { findDischarge } from "../../server/physics/discharge.ts";
import { sectionLaw } from "../../server/physics/laws/index.ts";
import type { Discharge } from "../../server/physics/results.ts";
import { conditionsOf } from "../../server/physics/states.ts";
import { findTopology } from "../../server/physics/topology.ts";
import { Bench } from "./circuits.ts";

interface OdexSolver {
  absoluteTolerance: number;
  relativeTolerance: number;
  maxSteps: number;
  solve(f: (t: number, y: number[]) => number[], from: number, y: number[], to: number): { y: number[] };
}
const { Solver } = createRequire(import.meta.url)("odex") as { Solver: new (n: number) => OdexSolver };

function discharge(circuit: Circuit, start: Record<string, number>): ReadonlyMap<string, Discharge> {
  const conditions = conditionsOf(circuit, "idle", "nominal");
  const topology = findTopology(circuit, conditions.positions);
  return findDischarge(circuit, topology, conditions, publishedLaws, new Map(Object.entries(start)));
}

/** When the integration's charges pass some volts. */
function passing(f: (t: number, y: number[]) => number[], start: number[], volts: number): number[] {
  const found = start.map(() => Number.POSITIVE_INFINITY);
  let y = start;
  let t = 0;
  const step = 0.02;
  for (let k = 0; k < 100_000 && found.includes(Number.POSITIVE_INFINITY); k++) {
    const solver = new Solver(start.length);
    solver.absoluteTolerance = 1e-9;
    solver.relativeTolerance = 1e-9;
    const next = solver.solve(f, t, y, t + step).y;
    next.forEach((v, c) => {
      if (found[c] === Number.POSITIVE_INFINITY && v <= volts) {
        found[c] = t + (step * (y[c] - volts)) / (y[c] - v);
      }
    });
    y = next;
    t += step;
  }
  return found;
}

describe("capacitors after the plug is pulled", () => {
  it("follow V e^(-t/RC), and stay for ever without a path", () => {
    const bench = new Bench();
    bench.net("gnd");
    bench.capacitor("C1", "a", "gnd", 50e-6, true).resistor("R1", "a", "gnd", 220e3);
    bench.capacitor("C2", "b", "gnd", 1e-6);
    bench.capacitor("C3", "c", "gnd", 1e-6).resistor("R3", "c", "gnd", 1e3);
    const found = discharge(bench.circuit(), { C1: 400, C2: 300, C3: -40 });
    const tau = 50e-6 * 220e3;
    expect(found.get("C1")!.secondsTo60V / (tau * Math.log(400 / 60))).toBeCloseTo(1, 2);
    expect(found.get("C1")!.secondsTo50V / (tau * Math.log(400 / 50))).toBeCloseTo(1, 2);
    expect(found.get("C1")!.joules).toBeCloseTo(4, 12);
    expect(found.get("C2")!.secondsTo60V).toBe(Number.POSITIVE_INFINITY);
    expect(found.get("C3")).toMatchObject({ volts: 40, secondsTo60V: 0, secondsTo50V: 0 });
  });

  it("share their charge along a supply chain as the integration says, within 1 %", () => {
    const bench = new Bench();
    bench.net("gnd");
    bench.capacitor("C1", "a", "gnd", 47e-6, true).resistor("R1", "a", "b", 4.7e3);
    bench.capacitor("C2", "b", "gnd", 22e-6, true).resistor("R2", "b", "c", 22e3);
    bench
      .capacitor("C3", "c", "gnd", 10e-6, true)
      .resistor("R3", "c", "gnd", 100e3)
      .resistor("R4", "a", "gnd", 470e3);
    const found = discharge(bench.circuit(), { C1: 410, C2: 390, C3: 310 });
    const f = (_t: number, [a, b, c]: number[]): number[] => [
      -((a - b) / 4.7e3 + a / 470e3) / 47e-6,
      ((a - b) / 4.7e3 - (b - c) / 22e3) / 22e-6,
      ((b - c) / 22e3 - c / 100e3) / 10e-6,
    ];
    const expected = passing(f, [410, 390, 310], 60);
    ["C1", "C2", "C3"].forEach((reference, k) => {
      expect(found.get(reference)!.secondsTo60V / expected[k], reference).toBeCloseTo(1, 2);
    });
  });

  it("empty through a warm valve as the integration says, within 2 %", () => {
    const bench = new Bench();
    bench.net("gnd");
    bench.capacitor("C1", "HT", "gnd", 32e-6, true).resistor("R1", "HT", "p", 100e3);
    bench
      .valve("V1", "ECC83", { a: { plate: "p", grid: "gnd", cathode: "k" } })
      .resistor("R2", "k", "gnd", 1500);
    const found = discharge(bench.circuit(), { C1: 350 });
    const law = sectionLaw("ECC83", "a")!;
    const out = new Float64Array(12);
    /** Current through plate load, valve and cathode resistor, by bisection. */
    const current = (supply: number): number => {
      let low = 0;
      let high = supply / 100e3;
      for (let k = 0; k < 60; k++) {
        const amps = 0.5 * (low + high);
        law.evaluate(-amps * 1500, 0, supply - amps * 101.5e3, out);
        if (out[0] > amps) low = amps;
        else high = amps;
      }
      return low;
    };
    const [expected] = passing((_t, [v]) => [-current(v) / 32e-6], [350], 60);
    expect(Math.abs(found.get("C1")!.secondsTo60V / expected - 1)).toBeLessThan(0.02);
  });

  it("fall behind a bridge that blocks as without one, within 0.1 %, and keep what a bridge alone could empty", () => {
    const text = `amp "One reservoir"
transformer T1 200VA {
  primary 230V 4R    { a b }
  ht      230V 1A 8R { x y }
}
bridge BR1 1000V 3A { ac1: x, ac2: y, plus: HT, minus: gnd }
HT -- capacitor C1 100u 450V electrolytic -- gnd
`;
    const emptied = (bleeder: string) => {
      const { circuit } = buildCircuit("a", text + bleeder, parse(text + bleeder));
      return analyse(circuit).discharge.get("nominal")!.out.get("C1")!;
    };
    const found = emptied("HT -- resistor R1 1k2 200W wirewound -- gnd\n");
    const tau = 100e-6 * 1200;
    expect(Math.abs(found.secondsTo60V / (tau * Math.log(found.volts / 60)) - 1)).toBeLessThan(1e-3);
    expect(Math.abs(found.secondsTo50V / (tau * Math.log(found.volts / 50)) - 1)).toBeLessThan(1e-3);
    expect(emptied("").secondsTo60V).toBe(Number.POSITIVE_INFINITY);
  });

  it("are followed through the moments when valves let go: no slower than through the bleeder alone", () => {
    const text = `amp "Pipit 3"
mains 100V 60Hz JP
transformer T1 60VA {
  primary 100V 4R { N A }
  ht 250-0-250V 60mA 400R { x gnd y }
  r 5V 2A { r1 r2 }
  lt 6.3V 1.5A { h1 gnd }
}
valve V3 5Y3GT { plate1: x, plate2: y, filament: r1 r2, cathode: r1 }
r1 -- capacitor C1 16u 450V electrolytic -- gnd
r1 -- resistor R1 1k5 5W -- HT2 -- capacitor C2 16u 450V electrolytic -- gnd
HT2 -- resistor R2 47k 1W -- HT3 -- capacitor C3 10u 450V electrolytic -- gnd
HT2 -- resistor R3 220k 1W -- gnd
ga -- resistor R4 470k 0.5W -- gnd
valve V1 6SC7 { a { plate: p1, grid: ga, cathode: kc }, b { plate: p2, grid: gb, cathode: kc }, heater: h1 gnd }
kc -- resistor R5 1k2 0.5W -- gnd
HT3 -- resistor R6 220k 0.5W -- p1
HT3 -- resistor R7 220k 0.5W -- p2
p1 -- capacitor C4 10n 400V film -- v
pot P1 500k audio { top: v, wiper: gb, bottom: gnd }
p2 -- capacitor C5 10n 400V film -- gx -- resistor R8 470k 0.5W -- gnd
gx -- resistor R9 1k 0.5W -- g
valve V2 6K6GT { plate: p, screen: sc, grid: g, cathode: k, heater: h1 gnd }
HT2 -- resistor R11 220R 1W -- sc
k -- resistor R10 470R 2W -- gnd
k -- capacitor C6 25u 50V electrolytic -- gnd
output-transformer T2 4W { plates 7600R 40mA 350R { p HT2 }
  speaker 4R { o gnd } }
o -- speaker LS1 4R 5W -- gnd
`;
    const { circuit } = buildCircuit("a", text, parse(text));
    const { discharge } = analyse(circuit);
    for (const level of ["low", "nominal", "high"] as const) {
      const found = discharge.get(level)!.warm;
      const most = Math.max(...["C1", "C2", "C3"].map((reference) => found.get(reference)!.volts));
      // One capacitor of all three through R3 and what leads to it, from the highest volts of any.
      const alone = 42e-6 * (220e3 + 47e3) * Math.log(most / 60);
      for (const reference of ["C1", "C2", "C3"]) {
        const { secondsTo60V } = found.get(reference)!;
        expect(secondsTo60V, `${reference} ${level}`).toBeGreaterThan(0);
        expect(secondsTo60V, `${reference} ${level}`).toBeLessThan(alone);
      }
    }
  });
});
