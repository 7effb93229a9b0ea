/** Answers do not depend on step size: every step halved, and halved again, changes no direct volts by a ten-thousandth. */
import { describe, expect, test } from "vitest";
import { SupplyBench } from "./supply-circuits.ts";

const full = (bench = new SupplyBench()) =>
  bench.secondary(["a", "gnd", "c"], [300, 300], 200) as SupplyBench;
const circuits: Record<string, () => { bench: SupplyBench; net: string; key: string }> = {
  "silicon, capacitor input": () => {
    const bench = full();
    bench
      .diode("D1", "a", "B")
      .diode("D2", "c", "B")
      .capacitor("C1", "B", "gnd", 47e-6)
      .resistor("R1", "B", "gnd", 2500);
    return { bench, net: "B", key: "D1" };
  },
  "5Y3GT, small reservoir": () => {
    const bench = full();
    bench.valve("V5", "5Y3GT", { "": { plate1: "a", plate2: "c", cathode: "B" } });
    bench.capacitor("C1", "B", "gnd", 4e-6).resistor("R1", "B", "gnd", 3000);
    return { bench, net: "B", key: "V5.plate1" };
  },
  "choke input, light load": () => {
    const bench = full();
    bench.valve("V5", "GZ34", { "": { plate1: "a", plate2: "c", cathode: "K" } });
    bench.choke("L1", "K", "B", 5, 100).capacitor("C1", "B", "gnd", 30e-6).resistor("R1", "B", "gnd", 20e3);
    return { bench, net: "B", key: "V5.plate1" };
  },
  "doubler with small capacitors": () => {
    const bench = new SupplyBench();
    bench.secondary(["a", "M"], [170], 40).diode("D1", "a", "P").diode("D2", "gnd", "a");
    bench
      .capacitor("C1", "P", "M", 10e-6)
      .capacitor("C2", "M", "gnd", 10e-6)
      .resistor("R1", "P", "gnd", 4000);
    return { bench, net: "P", key: "D1" };
  },
  "bridge without much resistance": () => {
    const bench = new SupplyBench();
    bench.secondary(["a", "c"], [300], 4).bridge("BR1", "a", "c", "B", "gnd");
    bench.capacitor("C1", "B", "gnd", 220e-6).resistor("R1", "B", "gnd", 1000);
    return { bench, net: "B", key: "BR1.1" };
  },
  "bias through a capacitor": () => {
    const bench = full();
    bench
      .diode("D1", "a", "B")
      .diode("D2", "c", "B")
      .capacitor("C1", "B", "gnd", 47e-6)
      .resistor("R1", "B", "gnd", 4000);
    bench.capacitor("C9", "a", "y", 0.1e-6).diode("D3", "N", "y").diode("D4", "y", "gnd");
    bench.capacitor("C8", "gnd", "N", 22e-6).resistor("R9", "N", "gnd", 47e3);
    return { bench, net: "N", key: "D3" };
  },
};

describe("halving every step", () => {
  for (const [name, make] of Object.entries(circuits)) {
    test(name, () => {
      const { bench, net, key } = make();
      const one = bench.solve("idle", "nominal", { refine: 1 });
      const two = bench.solve("idle", "nominal", { refine: 2 });
      const four = bench.solve("idle", "nominal", { refine: 4 });
      expect(Math.abs(two.volts(net) / one.volts(net) - 1)).toBeLessThan(1e-4);
      expect(Math.abs(four.volts(net) / two.volts(net) - 1)).toBeLessThan(1e-4);
      expect(Math.abs(four.reading(key).rms! / one.reading(key).rms! - 1)).toBeLessThan(2e-3);
      expect(Math.abs(four.reading(key).peak! / one.reading(key).peak! - 1)).toBeLessThan(1e-2);
    });
  }
});
