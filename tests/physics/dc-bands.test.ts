/**
 * Bands against what they stand for: solving again with other part values. Monte-Carlo is seeded; the difference quotient is the
 * textbook central one.
 */
import { describe, expect, it } from "vitest";
import type { Circuit, Part } from "../../server/circuit/model.ts";
import { analyse } from "../../server/physics/analyse.ts";
import { type Laws, publishedLaws } from "../../server/physics/dc/elements.ts";
import type { ReadingName, Solution } from "../../server/physics/results.ts";
import { Bench } from "./circuits.ts";
import { seeded } from "./networks.ts";
import { generateStage } from "./stages.ts";

const idle = (circuit: Circuit, laws?: Laws): Solution =>
  analyse(circuit, { laws }).solution("idle", "nominal")!;

/** The circuit with other values: `factor` by reference. */
function vary(circuit: Circuit, factor: (part: Part) => number): Circuit {
  const parts = circuit.parts.map((part): Part => {
    if (part.kind === "resistor" || part.kind === "pot" || part.kind === "choke") {
      return { ...part, ohms: { ...part.ohms, value: part.ohms.value * factor(part) } };
    }
    if (part.kind === "zener") {
      return { ...part, volts: { ...part.volts, value: part.volts.value * factor(part) } };
    }
    return part;
  });
  return { ...circuit, parts, partByReference: new Map(parts.map((part) => [part.reference, part])) };
}

const toleranceOf = (part: Part): number => ("tolerance" in part ? part.tolerance.value : 0);

/** A preamp stage, a follower, and an output valve, with every kind of toleranced value. */
function amplifier(spread = 0): Circuit {
  const bench = new Bench();
  bench.spread = spread;
  bench
    .source("S1", "HT", "gnd", 320, 100)
    .resistor("R1", "HT", "HT2", 10e3, 0.1)
    .choke("L1", "HT", "HT1", 10, 250);
  bench.resistor("R2", "HT2", "p1", 100e3, 0.1).resistor("R3", "k1", "gnd", 1500, 0.1);
  bench.resistor("R4", "g1", "gnd", 1e6, 0.2);
  bench.valve("V1", "ECC83", { a: { plate: "p1", grid: "g1", cathode: "k1" } });
  bench
    .valve("V2", "ECC83", { b: { plate: "HT2", grid: "p1", cathode: "k2" } })
    .resistor("R5", "k2", "gnd", 100e3, 0.05);
  bench.pot("R6", { top: "HT2", wiper: "w", bottom: "gnd" }, 500e3, 0.3);
  bench.resistor("R7", "HT1", "z", 47e3, 0.05).zener("Z1", "gnd", "z", 150);
  bench.valve("V3", "EL84", { "": { plate: "pA", screen: "HT1", grid: "g3", cathode: "k3" } });
  bench.resistor("R8", "k3", "gnd", 130, 0.1).resistor("R9", "g3", "gnd", 470e3, 0.2);
  bench.outputTransformer("T1", ["pA", "HT"], 200);
  return bench.circuit();
}

const quantities: [string, ReadingName][] = [
  ["V1.a.plate", "volts"],
  ["V1.a.plate", "amps"],
  ["V3.plate", "watts"],
  ["V3.screen", "watts"],
  ["V3.cathode", "amps"],
  ["R8", "watts"],
  ["R5", "amps"],
  ["R6.bottom", "volts"],
  ["R7", "watts"],
  ["Z1", "rms"],
  ["L1", "amps"],
  ["S1", "watts"],
];

describe("bands", () => {
  it("hold 99 % of 1,000 samples with every value anywhere in its tolerance", () => {
    const circuit = amplifier();
    const nominal = idle(circuit);
    const random = seeded(90210);
    const inside = new Map<string, number>();
    const samples = 1000;
    for (let s = 0; s < samples; s++) {
      const sample = idle(vary(circuit, (part) => 1 + toleranceOf(part) * (2 * random() - 1)));
      for (const net of circuit.nets) {
        const band = nominal.netBand(net.index);
        const v = sample.volts[net.index];
        const slack = 1e-4; // a grid at rest moves by microvolts, exponentially
        if (v >= band.low - slack && v <= band.high + slack)
          inside.set(net.name, (inside.get(net.name) ?? 0) + 1);
      }
      for (const [key, reading] of quantities) {
        const band = nominal.band(key, reading)!;
        const value = sample.readings.get(key)![reading]!;
        const slack = 1e-9 * Math.abs(band.nominal);
        if (value >= band.low - slack && value <= band.high + slack) {
          inside.set(`${key} ${reading}`, (inside.get(`${key} ${reading}`) ?? 0) + 1);
        }
      }
    }
    for (const net of circuit.nets)
      expect(inside.get(net.name), net.name).toBeGreaterThanOrEqual(0.99 * samples);
    for (const [key, reading] of quantities) {
      expect(inside.get(`${key} ${reading}`), `${key} ${reading}`).toBeGreaterThanOrEqual(0.99 * samples);
    }
  }, 60_000);

  it("are as wide as the worst case, and no wider: the sum of difference quotients", () => {
    const circuit = amplifier();
    const nominal = idle(circuit);
    const toleranced = circuit.parts.filter((part) => toleranceOf(part) > 0);
    const width = new Map<string, number>();
    const h = 1e-4;
    for (const part of toleranced) {
      const up = idle(vary(circuit, (other) => (other === part ? 1 + h : 1)));
      const down = idle(vary(circuit, (other) => (other === part ? 1 - h : 1)));
      const add = (id: string, a: number, b: number): void => {
        width.set(id, (width.get(id) ?? 0) + Math.abs((a - b) / (2 * h)) * toleranceOf(part));
      };
      for (const net of circuit.nets) add(net.name, up.volts[net.index], down.volts[net.index]);
      for (const [key, reading] of quantities) {
        add(`${key} ${reading}`, up.readings.get(key)![reading]!, down.readings.get(key)![reading]!);
      }
    }
    for (const net of circuit.nets) {
      const band = nominal.netBand(net.index);
      const half = (band.high - band.low) / 2;
      // Up to a tenth wider where a value is low: -ln(0.9), or 1/0.9.
      expect(half, net.name).toBeGreaterThan(width.get(net.name)! - 1e-3);
      expect(half, net.name).toBeLessThan(1.13 * width.get(net.name)! + 1e-3);
    }
    for (const [key, reading] of quantities) {
      const band = nominal.band(key, reading)!;
      const expected = width.get(`${key} ${reading}`)!;
      const half = (band.high - band.low) / 2;
      expect(half, `${key} ${reading}`).toBeGreaterThan(0.998 * expected - 1e-9);
      expect(half, `${key} ${reading}`).toBeLessThan(1.13 * expected + 1e-9);
    }
  });

  it("count the spread between valves", () => {
    const spread = 0.15;
    const circuit = amplifier(spread);
    const nominal = idle(circuit);
    const scaled = (factor: number): Laws => ({
      ...publishedLaws,
      section: (type, name) => {
        const law = publishedLaws.section(type, name);
        return (
          law && {
            evaluate(vg, vs, vp, out) {
              law.evaluate(vg, vs, vp, out);
              for (let k = 0; k < 12; k++) out[k] *= factor;
            },
          }
        );
      },
    });
    const h = 1e-4;
    const k3 = circuit.netByName.get("k3")!;
    const quotient =
      (idle(circuit, scaled(1 + h)).volts[k3] - idle(circuit, scaled(1 - h)).volts[k3]) / (2 * h);
    const alone = nominal.sensitivity(k3).filter(({ reference }) => /^V/.test(reference));
    expect(alone.reduce((sum, { dVolts }) => sum + dVolts, 0)).toBeCloseTo(quotient, 4);
    expect(alone[0].reference).toBe("V3");
    const band = nominal.netBand(k3);
    const without = idle(amplifier(0)).netBand(k3);
    expect(band.high - band.low).toBeGreaterThan(without.high - without.low + spread * Math.abs(quotient));
  });

  it("agree with difference quotients on generated stages", () => {
    const random = seeded(31337);
    const h = 1e-5;
    let held = 0;
    for (let run = 0; run < 60; run++) {
      const circuit = generateStage(random).circuit();
      const nominal = idle(circuit);
      const resistors = circuit.parts.filter((part) => part.kind === "resistor");
      const part = resistors[Math.floor(random() * resistors.length)];
      const up = idle(vary(circuit, (other) => (other === part ? 1 + h : 1)));
      const down = idle(vary(circuit, (other) => (other === part ? 1 - h : 1)));
      for (const net of circuit.nets) {
        const quotient = (up.volts[net.index] - down.volts[net.index]) / (2 * h);
        const told =
          nominal.sensitivity(net.index).find(({ reference }) => reference === part.reference)?.dVolts ?? 0;
        // A net between valves that are cut off hangs on picoamperes: no quotient can be taken there.
        if (Math.abs(quotient) > 1e4 || Math.abs(told) > 1e4) continue;
        expect(Math.abs(told - quotient), `${net.name} of stage ${run}`).toBeLessThan(
          0.01 + 0.01 * Math.abs(quotient),
        );
        held++;
      }
    }
    expect(held).toBeGreaterThan(400);
  });
});
