/** Ripple behind the supply: closed forms of RC and LC sections, and an independent integration of a whole chain. */
import { describe, expect, test } from "vitest";
import { atOnce } from "../../server/circuit/in-steps.ts";
import { analyse } from "../../server/physics/analyse.ts";
import { semiconductorLaw } from "../../server/physics/laws/index.ts";
import type { DcSolution } from "../../server/physics/solution.ts";
import { laterPhasors } from "../../server/physics/supply/ripple.ts";
import cases from "../published/supply-cases.json" with { type: "json" };
import { SupplyBench } from "./supply-circuits.ts";
import { integrate, seriesCurrent } from "./supply-odes.ts";

const published = cases as unknown as readonly {
  readonly id: string;
  readonly inputs: Readonly<Record<string, number>>;
  readonly expected: Readonly<Record<string, number>>;
}[];
const find = (id: string) => published.find((c) => c.id === id)!;

function fullWave(hertz: number, farads: number): SupplyBench {
  const bench = new SupplyBench();
  bench.hertz = hertz;
  return bench
    .secondary(["a", "gnd", "c"], [300, 300], 200)
    .diode("D1", "a", "B")
    .diode("D2", "c", "B")
    .capacitor("C1", "B", "gnd", farads, true)
    .resistor("R1", "B", "gnd", 4000) as SupplyBench;
}

/** Second harmonic of the mains at a net over that at another. */
function attenuation(bench: SupplyBench, from: string, to: string): number {
  const circuit = bench.circuit();
  const solution = analyse(circuit).solution("idle", "nominal") as DcSolution;
  const { harmonics } = atOnce(laterPhasors(solution.network));
  const second = harmonics.get(2)!;
  const size = (net: string) => {
    const node = solution.topology.node[circuit.netByName.get(net)!];
    return Math.hypot(second.cosine[node], second.sine[node]);
  };
  return size(to) / size(from);
}

describe("filter sections", () => {
  // Sources: supply-cases.json; 1 / sqrt(1 + (w R C)^2), 1 / |1 - w^2 L C + j w L / RL|.
  test.each(["ripple-rc-b", "ripple-rc-c"])("%s", (id) => {
    const { inputs, expected } = find(id);
    // Behind a small reservoir, so that the section is far enough away to be a section of its own.
    const bench = fullWave(inputs.ripple_f_Hz / 2, 47e-6)
      .resistor("R2", "B", "X", 1e-2)
      .resistor("R3", "X", "B2", inputs.R_ohm)
      .capacitor("C2", "B2", "gnd", inputs.C_uF * 1e-6, true) as SupplyBench;
    expect(attenuation(bench, "B", "B2") / expected.attenuation).toBeCloseTo(1, 2);
  });
  test.each(["ripple-lc-a", "ripple-lc-b", "ripple-lc-c"])("%s", (id) => {
    const { inputs, expected } = find(id);
    const bench = fullWave(inputs.f_mains_Hz, 47e-6)
      .choke("L1", "B", "B2", inputs.L_H, 0.1)
      .capacitor("C2", "B2", "gnd", inputs.C_uF * 1e-6, true)
      .resistor("R2", "B2", "gnd", inputs.RL_ohm) as SupplyBench;
    expect(attenuation(bench, "B", "B2") / expected.attenuation_with_load).toBeCloseTo(1, 3);
  });
});

test("a chain of a choke and a dropper against an independent integration (odex)", () => {
  const silicon = semiconductorLaw();
  const [R, C1, L, RC, C2, R2, C3, RL, R3] = [100, 32e-6, 4, 150, 8e-6, 15e3, 4e-6, 5000, 47e3];
  const bench = new SupplyBench()
    .secondary(["a", "gnd", "c"], [300, 300], 2 * R)
    .diode("D1", "a", "B")
    .diode("D2", "c", "B")
    .capacitor("C1", "B", "gnd", C1, true)
    .choke("L1", "B", "B2", L, RC)
    .capacitor("C2", "B2", "gnd", C2, true)
    .resistor("RL", "B2", "gnd", RL)
    .resistor("R2", "B2", "B3", R2)
    .capacitor("C3", "B3", "gnd", C3, true)
    .resistor("R3", "B3", "gnd", R3) as SupplyBench;
  const u = (t: number) => 300 * Math.SQRT2 * Math.sin(2 * Math.PI * 50 * t);
  const { watched, drift } = integrate({
    hertz: 50,
    start: [374, 0.075, 363, 275],
    cycles: 60,
    rate: (t, [v, i, v2, v3]) => [
      (seriesCurrent(silicon, R, u(t) - v) + seriesCurrent(silicon, R, -u(t) - v) - i) / C1,
      (v - v2 - RC * i) / L,
      (i - v2 / RL - (v2 - v3) / R2) / C2,
      ((v2 - v3) / R2 - v3 / R3) / C3,
    ],
    watch: (_t, [v, i, v2, v3]) => ({
      v,
      i,
      v2,
      v3,
      c2: i - v2 / RL - (v2 - v3) / R2,
      c3: (v2 - v3) / R2 - v3 / R3,
    }),
  });
  expect(drift).toBeLessThan(5e-5);
  const circuit = bench.circuit();
  const solution = analyse(circuit, {}).solution("idle", "nominal") as DcSolution;
  if (process.env.SHOW) console.log(watched, solution.ripple);
  const swing = (w: { high: number; low: number }) => w.high - w.low;
  const at = (net: string) => circuit.netByName.get(net)!;
  expect(solution.volts[at("B2")] / watched.v2.mean).toBeCloseTo(1, 3);
  expect(Math.abs(solution.ripple[at("B")] / swing(watched.v) - 1)).toBeLessThan(0.02);
  expect(Math.abs(solution.ripple[at("B2")] / swing(watched.v2) - 1)).toBeLessThan(0.02);
  expect(Math.abs(solution.ripple[at("B3")] / swing(watched.v3) - 1)).toBeLessThan(0.02);
  expect(Math.abs(solution.readings.get("C2")!.rms! / watched.c2.rms - 1)).toBeLessThan(0.02);
  expect(Math.abs(solution.readings.get("C3")!.rms! / watched.c3.rms - 1)).toBeLessThan(0.02);
});

describe("behind a reservoir, a dropper and its capacitor, against an independent integration (odex)", () => {
  const silicon = semiconductorLaw();
  // Winding's ohms, reservoir, dropper, its capacitor, load there: from a stiff supply, whose ripple is a saw, to a soft one.
  test.each([
    ["stiff, full wave", true, 20, 100e-6, 1000, 47e-6, 5000],
    ["middling, full wave", true, 60, 47e-6, 2200, 22e-6, 10e3],
    ["soft, full wave", true, 200, 16e-6, 4700, 16e-6, 20e3],
    ["stiff, half wave", false, 30, 100e-6, 2200, 47e-6, 8000],
    ["soft, half wave", false, 200, 32e-6, 4700, 32e-6, 20e3],
  ] as const)("%s", (_name, full, R, C1, R1, C2, RL) => {
    const bench = new SupplyBench().secondary(["a", "gnd", "c"], [300, 300], 2 * R).diode("D1", "a", "B");
    if (full) bench.diode("D2", "c", "B");
    bench
      .capacitor("C1", "B", "gnd", C1, true)
      .resistor("R0", "B", "gnd", 6000)
      .resistor("R1", "B", "B2", R1)
      .capacitor("C2", "B2", "gnd", C2, true)
      .resistor("RL", "B2", "gnd", RL);
    const circuit = bench.circuit();
    const solution = analyse(circuit).solution("idle", "nominal") as DcSolution;
    const at = (net: string) => circuit.netByName.get(net)!;
    const u = (t: number) => 300 * Math.SQRT2 * Math.sin(2 * Math.PI * 50 * t);
    const { watched, drift } = integrate({
      hertz: 50,
      start: [solution.volts[at("B")], solution.volts[at("B2")]],
      cycles: 150,
      rate: (t, [v, v2]) => [
        (seriesCurrent(silicon, R, u(t) - v) +
          (full ? seriesCurrent(silicon, R, -u(t) - v) : 0) -
          v / 6000 -
          (v - v2) / R1) /
          C1,
        ((v - v2) / R1 - v2 / RL) / C2,
      ],
      watch: (_t, [v, v2]) => ({ v, v2, c2: (v - v2) / R1 - v2 / RL }),
    });
    const { v2 } = watched;
    // What has not settled yet would show in so small a ripple.
    expect((drift * v2.mean) / (v2.high - v2.low)).toBeLessThan(5e-3);
    expect(Math.abs(solution.ripple[at("B2")] / (v2.high - v2.low) - 1)).toBeLessThan(0.01);
    expect(Math.abs(solution.rms[at("B2")] / Math.sqrt(v2.rms ** 2 - v2.mean ** 2) - 1)).toBeLessThan(2e-3);
    expect(Math.abs(solution.readings.get("C2")!.rms! / watched.c2.rms - 1)).toBeLessThan(5e-3);
  });
});
