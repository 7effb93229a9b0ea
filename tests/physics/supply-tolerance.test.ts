/**
 * How figures move with the values inside a supply: the backward pass against difference quotients of whole solutions, and the
 * bands against seeded Monte-Carlo samples.
 */
import { describe, expect, test } from "vitest";
import { analyse } from "../../server/physics/analyse.ts";
import type { ReadingName, Solution } from "../../server/physics/results.ts";
import { SupplyBench } from "./supply-circuits.ts";

/** A value of the circuit by the name of its part, multiplied. */
type Factors = Readonly<Record<string, number>>;
const by = (factors: Factors, name: string) => factors[name] ?? 1;

/** Full-wave valve rectifier with the primary's resistance, a heater, bias through a resistor, a dropper chain. */
function valveSupply(f: Factors): SupplyBench {
  return new SupplyBench()
    .transformer(
      "T1",
      { volts: [230], nets: ["live", "neutral"], ohms: 14 * by(f, "T1.primary") },
      {
        ht: { volts: [310, 310], nets: ["a", "gnd", "c"], ohms: 150 * by(f, "T1.ht"), noLoad: true },
        heater: { volts: [6.6], nets: ["h", "gnd"], ohms: 0.05 * by(f, "T1.heater"), noLoad: true },
      },
    )
    .resistor("RH", "h", "gnd", 2.1 * by(f, "RH"))
    .valve("V5", "EZ81", { "": { plate1: "a", plate2: "c", cathode: "B" } })
    .capacitor("C1", "B", "gnd", 32e-6 * by(f, "C1"), true)
    .resistor("R1", "B", "B2", 1000 * by(f, "R1"))
    .capacitor("C2", "B2", "gnd", 32e-6 * by(f, "C2"), true)
    .resistor("R2", "B2", "gnd", 3900 * by(f, "R2"))
    .resistor("R3", "c", "y", 47e3 * by(f, "R3"))
    .diode("D1", "N", "y")
    .capacitor("C3", "gnd", "N", 10e-6 * by(f, "C3"), true)
    .resistor("R4", "N", "N2", 15e3 * by(f, "R4"))
    .resistor("R5", "N2", "gnd", 22e3 * by(f, "R5")) as SupplyBench;
}

function chokeSupply(f: Factors): SupplyBench {
  return new SupplyBench()
    .transformer(
      "T1",
      { volts: [230], nets: ["live", "neutral"], ohms: 8 * by(f, "T1.primary") },
      { ht: { volts: [360], nets: ["a", "c"], ohms: 60 * by(f, "T1.ht"), noLoad: true } },
    )
    .bridge("BR1", "a", "c", "K", "gnd")
    .choke("L1", "K", "B", 5 * by(f, "L1"), 120)
    .capacitor("C1", "B", "gnd", 50e-6 * by(f, "C1"), true)
    .resistor("R1", "B", "gnd", 4000 * by(f, "R1")) as SupplyBench;
}

const circuits = [
  {
    name: "valve rectifier, heater, bias and chain",
    make: valveSupply,
    values: ["T1.primary", "T1.ht", "T1.heater", "RH", "C1", "R1", "C2", "R2", "R3", "C3", "R4", "R5"],
    nets: ["B", "B2", "N", "N2"],
    readings: [
      ["V5.plate1", "rms"],
      ["V5.plate1", "amps"],
      ["V5.plate1", "peak"],
      ["V5.plate1", "inverse"],
      ["C1", "rms"],
      ["C1", "ripple"],
      ["RH", "rmsVolts"],
      ["RH", "watts"],
      ["R3", "rms"],
      ["D1", "inverse"],
      ["T1.primary", "rms"],
      ["T1.primary", "watts"],
      ["T1.ht", "rms"],
      ["T1.ht", "voltAmperes"],
    ] as [string, ReadingName][],
  },
  {
    name: "bridge, choke input",
    make: chokeSupply,
    values: ["T1.primary", "T1.ht", "L1", "C1", "R1"],
    nets: ["B"],
    readings: [
      ["L1", "rms"],
      ["L1", "peak"],
      ["L1", "ripple"],
      ["BR1.1", "rms"],
      ["C1", "rms"],
      ["R1", "rms"],
      ["T1.ht", "rms"],
    ] as [string, ReadingName][],
  },
];

/** What the solution keeps to itself: how a reading moves by each value. */
interface Inside {
  readonly influence: { readonly parameters: readonly { readonly reference: string }[] };
  readingGradient(key: string, reading: ReadingName): Float64Array | undefined;
}

function slope(solution: Solution, key: string, reading: ReadingName, value: string): number {
  const inside = solution as unknown as Inside;
  const gradient = inside.readingGradient(key, reading);
  let sum = 0;
  inside.influence.parameters.forEach(({ reference }, p) => {
    if (reference === value) sum += gradient?.[p] ?? Number.NaN;
  });
  return sum;
}

describe("first variations against difference quotients", () => {
  for (const { name, make, values, nets, readings } of circuits) {
    test(name, () => {
      const solution = analyse(make({}).circuit()).solution("idle", "nominal")!;
      expect(solution.readings.size).toBeGreaterThan(5);
      const circuit = make({}).circuit();
      const h = 0.02;
      for (const value of values) {
        const up = make({ [value]: 1 + h }).solve("idle", "nominal", { refine: 3 });
        const down = make({ [value]: 1 - h }).solve("idle", "nominal", { refine: 3 });
        const step = Math.log((1 + h) / (1 - h));
        for (const net of nets) {
          const expected = (up.volts(net) - down.volts(net)) / step;
          const got =
            solution.sensitivity(circuit.netByName.get(net)!).find((s) => s.reference === value)?.dVolts ?? 0;
          if (process.env.SHOW) console.log(name, value, net, got, expected);
          expect(Math.abs(got - expected), `${net} by ${value}: ${got} against ${expected}`).toBeLessThan(
            // R1 loads the reservoir's ripple too, which the straight line around it leaves out.
            (value === "R1" ? 0.05 : 0.02) * Math.abs(expected) +
              (value === "R1" ? 1e-3 : 1e-4) * Math.abs(up.volts(net)),
          );
        }
        for (const [key, reading] of readings) {
          const expected = (up.reading(key)[reading]! - down.reading(key)[reading]!) / step;
          const got = slope(solution, key, reading, value);
          const size = Math.abs(up.reading(key)[reading]!);
          if (process.env.SHOW) console.log(name, value, key, reading, got, expected);
          expect(
            Math.abs(got - expected),
            `${key} ${reading} by ${value}: ${got} against ${expected}`,
          ).toBeLessThan(0.05 * Math.abs(expected) + 2e-3 * size);
        }
      }
    });
  }
});

/** Numerical Recipes' quick generator (Press et al., section 7.1), seeded: the same samples every time. */
function generator(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 2 ** 32;
  };
}

describe("bands against samples", () => {
  for (const { name, make, values, nets, readings } of circuits) {
    test(`${name}: 99 % of seeded samples lie inside`, () => {
      const random = generator(20240607);
      const bench = make({});
      const circuit = bench.circuit();
      const solution = analyse(circuit).solution("idle", "nominal")!;
      expect(solution.readings.size).toBeGreaterThan(5);
      // Bench's tolerances: resistors 5 %, capacitors and chokes 10 %; windings spread by 10 %.
      const tolerance = (value: string) => (value.startsWith("R") ? 0.05 : 0.1);
      const samples = 300;
      let inside = 0;
      let told = 0;
      const missed = new Map<string, number>();
      for (let n = 0; n < samples; n++) {
        const factors: Record<string, number> = {};
        for (const value of values) factors[value] = 1 + tolerance(value) * (2 * random() - 1);
        const sample = make(factors).solve();
        const hold = (what: string, got: number, band: { low: number; high: number }) => {
          told++;
          if (got >= band.low && got <= band.high) inside++;
          else missed.set(what, (missed.get(what) ?? 0) + 1);
        };
        for (const net of nets) hold(net, sample.volts(net), solution.netBand(circuit.netByName.get(net)!));
        for (const [key, reading] of readings) {
          hold(`${key} ${reading}`, sample.reading(key)[reading]!, solution.band(key, reading)!);
        }
      }
      expect(inside / told, JSON.stringify([...missed])).toBeGreaterThanOrEqual(0.99);
    });
  }
});
