/** Supplies as they should not be: each gives finite figures or says what is wrong, and none throws or hangs. */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { analyse } from "../../server/physics/analyse.ts";
import { work } from "../../server/physics/supply/work.ts";
import { SupplyBench } from "./supply-circuits.ts";

const ht = (bench = new SupplyBench()) =>
  bench.transformer(
    "T1",
    { volts: [230], nets: ["live", "neutral"], ohms: 12 },
    {
      ht: { volts: [300, 300], nets: ["a", "gnd", "c"], ohms: 160, amps: 0.12 },
      heater: { volts: [6.3], nets: ["h1", "h2"], ohms: 0.05, amps: 3 },
    },
  );

/** Solve every state at nominal mains; every figure that is told is finite. */
function sound(bench: SupplyBench) {
  const circuit = bench.circuit();
  const analysis = analyse(circuit);
  for (const state of analysis.states) {
    const solution = analysis.solution(state, "nominal")!;
    if (!solution.solved) {
      expect(solution.trouble, "an unsolved circuit says why").toBeDefined();
      expect(solution.trouble!.message.length).toBeGreaterThan(10);
      continue;
    }
    for (const [key, readings] of solution.readings) {
      for (const [name, value] of Object.entries(readings)) {
        expect(Number.isFinite(value), `${state} ${key} ${name} ${value}`).toBe(true);
      }
    }
    for (let net = 0; net < circuit.nets.length; net++) {
      if (solution.floating.includes(net)) continue;
      expect(Number.isFinite(solution.volts[net]), `${state} ${circuit.nets[net].name}`).toBe(true);
      expect(Number.isFinite(solution.ripple[net]), `${state} ripple ${circuit.nets[net].name}`).toBe(true);
    }
  }
  return {
    circuit,
    idle: analysis.solution("idle", "nominal")!,
    cold: analysis.solution("cold", "nominal")!,
  };
}

const volts = (of: ReturnType<typeof sound>, net: string, state: "idle" | "cold" = "idle") =>
  of[state].volts[of.circuit.netByName.get(net)!];

describe("odd supplies", () => {
  test("a winding shorted: a heavy current, limited by its copper", () => {
    const bench = ht().wire("W1", "h1", "h2") as SupplyBench;
    bench.diode("D1", "a", "B").capacitor("C1", "B", "gnd", 32e-6).resistor("R1", "B", "gnd", 5000);
    const of = sound(bench);
    expect(of.idle.readings.get("T1.heater")!.rms).toBeGreaterThan(20);
    const solved = bench.solve();
    const notes = solved.solution.islandResults.flatMap(({ result }) => result.notes ?? []);
    expect(notes.map((note) => note.message).join()).toContain("T1.heater is shorted");
  });
  test("a floating secondary is told as floating, and the rest is solved", () => {
    const bench = ht();
    bench.diode("D1", "a", "B").capacitor("C1", "B", "gnd", 32e-6).resistor("R1", "B", "gnd", 5000);
    const of = sound(bench);
    const names = of.idle.floating.map((net) => of.circuit.nets[net].name);
    expect(names).toContain("h1");
    expect(names).not.toContain("B");
    expect(volts(of, "B")).toBeGreaterThan(250);
  });
  test("a rectifier without a reservoir", () => {
    const bench = ht();
    bench.diode("D1", "a", "B").diode("D2", "c", "B").resistor("R1", "B", "gnd", 5000);
    expect(volts(sound(bench), "B")).toBeGreaterThan(230);
  });
  test("a plate whose fuse is out, a choke behind the other: no more looks at a step than any other supply needs", () => {
    const bench = ht();
    bench.valve("V5", "5U4GB", { "": { plate1: "open", plate2: "a", cathode: "K" } });
    bench.choke("L1", "K", "B", 10, 60).capacitor("C1", "B", "gnd", 60e-6).resistor("R1", "B", "gnd", 22e3);
    const before = { ...work };
    expect(volts(sound(bench), "B")).toBeGreaterThan(100);
    expect((work.newton - before.newton) / (work.steps - before.steps)).toBeLessThan(12);
  });
  test("a rectifier that feeds nothing at all", () => {
    const bench = ht();
    bench.diode("D1", "a", "B").diode("D2", "c", "B");
    sound(bench);
  });
  test("a diode across half of the winding", () => {
    const bench = ht();
    bench
      .diode("D1", "a", "gnd")
      .diode("D2", "c", "B")
      .capacitor("C1", "B", "gnd", 32e-6)
      .resistor("R1", "B", "gnd", 5000);
    const of = sound(bench);
    expect(of.idle.readings.get("D1")!.rms).toBeGreaterThan(1);
  });
  test("an electrolytic across the whole winding", () => {
    const bench = ht();
    bench.capacitor("C9", "a", "c", 10e-6).diode("D1", "a", "B").capacitor("C1", "B", "gnd", 32e-6);
    bench.resistor("R1", "B", "gnd", 5000);
    expect(sound(bench).idle.readings.get("C9")!.rms).toBeGreaterThan(0.5);
  });
  test("the mains' two conductors joined", () => {
    const bench = ht();
    bench.wire("W1", "live", "neutral");
    bench.diode("D1", "a", "B").capacitor("C1", "B", "gnd", 32e-6).resistor("R1", "B", "gnd", 5000);
    expect(Math.abs(volts(sound(bench), "B"))).toBeLessThan(1);
  });
  test("a transformer without a primary stands at its open-circuit volts", () => {
    const bench = new SupplyBench();
    bench.transformer("T1", undefined, { ht: { volts: [300, 300], nets: ["a", "gnd", "c"], ohms: 100 } });
    bench
      .diode("D1", "a", "B")
      .diode("D2", "c", "B")
      .capacitor("C1", "B", "gnd", 32e-6)
      .resistor("R1", "B", "B2", 1e4);
    bench.capacitor("C2", "B2", "gnd", 32e-6);
    const of = sound(bench);
    expect(volts(of, "B2", "cold")).toBeCloseTo(300 * Math.SQRT2, -1);
  });
  test("no supply voltage reaches a primary with one end loose", () => {
    const bench = ht();
    bench.parts.push({
      ...bench.parts[0],
      kind: "cord",
      reference: "W0",
      leads: new Map([
        ["active", { net: bench.net("inA") }],
        ["neutral", { net: bench.net("neutral") }],
      ]),
    } as never);
    bench.diode("D1", "a", "B").capacitor("C1", "B", "gnd", 32e-6).resistor("R1", "B", "gnd", 5000);
    expect(Math.abs(volts(sound(bench), "B"))).toBeLessThan(1e-3);
  });
  test("cans in series with balancing resistors share the volts", () => {
    const bench = ht();
    bench.bridge("BR1", "a", "c", "B", "neg").wire("W1", "neg", "neg");
    const doubled = new SupplyBench();
    doubled.secondary(["p", "q"], [400], 80).bridge("BR1", "p", "q", "B", "gnd");
    doubled.capacitor("C1", "B", "m", 100e-6, true).capacitor("C2", "m", "gnd", 100e-6, true);
    doubled
      .resistor("R1", "B", "m", 220e3)
      .resistor("R2", "m", "gnd", 220e3)
      .resistor("R3", "B", "gnd", 5000);
    const of = sound(doubled);
    expect(volts(of, "m") / volts(of, "B")).toBeCloseTo(0.5, 3);
    expect(volts(of, "B")).toBeGreaterThan(480);
    sound(bench);
  });
  test("an unloaded supply stands at its crest", () => {
    const bench = new SupplyBench();
    bench.secondary(["a", "gnd", "c"], [300, 300], 200);
    bench.diode("D1", "a", "B").diode("D2", "c", "B").capacitor("C1", "B", "gnd", 47e-6, true);
    bench.resistor("R1", "B", "B2", 1e4).capacitor("C2", "B2", "gnd", 22e-6, true);
    expect(Math.abs(volts(sound(bench), "B2", "cold") / (300 * Math.SQRT2) - 1)).toBeLessThan(0.003);
  });
  test("a cold indirectly heated rectifier leaves its nets at nothing", () => {
    const bench = ht();
    bench.valve("V5", "GZ34", { "": { plate1: "a", plate2: "c", cathode: "B" } });
    bench
      .capacitor("C1", "B", "gnd", 47e-6, true)
      .resistor("R1", "B", "B2", 1e4)
      .capacitor("C2", "B2", "gnd", 22e-6, true);
    const of = sound(bench);
    expect(Math.abs(volts(of, "B2", "cold"))).toBeLessThan(0.5);
    expect(volts(of, "B2")).toBeGreaterThan(350);
  });
  test("a directly heated rectifier conducts when cold", () => {
    const bench = ht();
    bench.valve("V5", "5Y3GT", { "": { plate1: "a", plate2: "c", cathode: "B" } });
    bench
      .capacitor("C1", "B", "gnd", 16e-6, true)
      .resistor("R1", "B", "B2", 1e4)
      .capacitor("C2", "B2", "gnd", 22e-6, true);
    expect(volts(sound(bench), "B2", "cold")).toBeGreaterThan(350);
  });
});

describe("standby switches", () => {
  const standby = (bench: SupplyBench, from: string, to: string) =>
    bench.switch("S2", "standby", from, { on: to }, ["on", "off"]) as SupplyBench;
  const states = (bench: SupplyBench) => ({
    standby: bench.solve("standby"),
    idle: bench.solve("idle"),
  });
  test("in the centre tap: no current in standby", () => {
    const bench = new SupplyBench();
    bench.secondary(["a", "ct", "c"], [300, 300], 200).diode("D1", "a", "B").diode("D2", "c", "B");
    standby(bench, "ct", "gnd").capacitor("C1", "B", "gnd", 47e-6, true).resistor("R1", "B", "gnd", 5000);
    const { standby: off, idle } = states(bench);
    expect(Math.abs(off.volts("B"))).toBeLessThan(1);
    expect(off.reading("D1").rms!).toBeLessThan(1e-4);
    expect(idle.volts("B")).toBeGreaterThan(350);
  });
  test("between the rectifier and the reservoir", () => {
    const bench = new SupplyBench();
    bench.secondary(["a", "gnd", "c"], [300, 300], 200).diode("D1", "a", "K").diode("D2", "c", "K");
    standby(bench, "K", "B").capacitor("C1", "B", "gnd", 47e-6, true).resistor("R1", "B", "gnd", 5000);
    const { standby: off, idle } = states(bench);
    expect(Math.abs(off.volts("B"))).toBeLessThan(1);
    expect(off.peak("K")).toBeGreaterThan(400);
    expect(idle.volts("B")).toBeGreaterThan(350);
  });
  test("after the reservoir: what is ahead stands unloaded", () => {
    const bench = new SupplyBench();
    bench.secondary(["a", "gnd", "c"], [300, 300], 200).diode("D1", "a", "K").diode("D2", "c", "K");
    bench.capacitor("C1", "K", "gnd", 47e-6, true);
    standby(bench, "K", "B").capacitor("C2", "B", "gnd", 47e-6, true).resistor("R1", "B", "gnd", 5000);
    const { standby: off, idle } = states(bench);
    expect(off.volts("K") / (300 * Math.SQRT2)).toBeGreaterThan(0.995);
    expect(Math.abs(off.volts("B"))).toBeLessThan(1);
    expect(idle.volts("B")).toBeGreaterThan(350);
  });
});

describe("generated supplies", () => {
  const nets = ["gnd", "a", "c", "B", "N", "x", "y"];
  const net = fc.constantFrom(...nets);
  const part = fc.oneof(
    fc.record({
      kind: fc.constant("resistor"),
      p: net,
      q: net,
      v: fc.double({ min: 0, max: 6, noNaN: true }),
    }),
    fc.record({
      kind: fc.constant("capacitor"),
      p: net,
      q: net,
      v: fc.double({ min: -9, max: -3.5, noNaN: true }),
    }),
    fc.record({
      kind: fc.constant("choke"),
      p: net,
      q: net,
      v: fc.double({ min: -1, max: 1.5, noNaN: true }),
    }),
    fc.record({ kind: fc.constant("diode"), p: net, q: net, v: fc.constant(0) }),
    fc.record({ kind: fc.constant("valve"), p: net, q: net, v: fc.constant(0) }),
    fc.record({
      kind: fc.constant("zener"),
      p: net,
      q: net,
      v: fc.double({ min: 0.7, max: 2.3, noNaN: true }),
    }),
  );
  test("never throw, never hang, and tell finite figures", () => {
    fc.assert(
      fc.property(
        fc.array(part, { minLength: 2, maxLength: 9 }),
        fc.double({ min: 0, max: 300, noNaN: true }),
        (parts, ohms) => {
          const bench = new SupplyBench();
          bench.transformer(
            "T1",
            { volts: [230], nets: ["live", "neutral"], ohms: ohms / 20 },
            {
              ht: { volts: [300, 300], nets: ["a", "gnd", "c"], ohms, noLoad: true },
            },
          );
          parts.forEach(({ kind, p, q, v }, k) => {
            if (kind === "resistor") bench.resistor(`R${k}`, p, q, 10 ** v);
            else if (kind === "capacitor") bench.capacitor(`C${k}`, p, q, 10 ** v);
            else if (kind === "choke") bench.choke(`L${k}`, p, q, 10 ** v, 100);
            else if (kind === "diode") bench.diode(`D${k}`, p, q);
            else if (kind === "zener") bench.zener(`Z${k}`, p, q, 10 ** v);
            else bench.valve(`V${k}`, "GZ34", { "": { plate1: p, cathode: q } });
          });
          const before = work.cycles;
          sound(bench);
          // Iteration caps, not a clock: no supply looks at more cycles than this.
          expect(work.cycles - before).toBeLessThan(4000);
        },
      ),
      { seed: 1947, numRuns: 150 },
    );
  }, 120_000);
});
