/** Ripple current of resistors that lead on from a reservoir. */
import { expect, test } from "vitest";
import { SupplyBench } from "./supply-circuits.ts";

const supply = () =>
  new SupplyBench()
    .secondary(["a", "c"], [300], 60)
    .bridge("BR1", "a", "c", "B", "gnd")
    .capacitor("C1", "B", "gnd", 22e-6, true)
    .resistor("RL", "B", "gnd", 4700);

test("a stopper to what holds nothing still carries the ripple of all that is behind it", () => {
  const bench = supply().resistor("RS", "B", "s", 100).resistor("RV", "s", "gnd", 39e3) as SupplyBench;
  const solved = bench.solve();
  const volts = solved.ripple("B");
  expect(volts).toBeGreaterThan(15);
  // One current through both, by Ohm: direct and alternating alike stand over 39.1 kohm.
  const { rms, amps, watts } = solved.reading("RS");
  expect(amps).toBeCloseTo(solved.volts("B") / 39.1e3, 6);
  const alternating = Math.sqrt(rms! ** 2 - amps! ** 2);
  expect(alternating).toBeGreaterThan((volts / 4 / 39.1e3) * 0.8);
  expect(alternating).toBeLessThan((volts / 2 / 39.1e3) * 1.2);
  expect(watts).toBeCloseTo(rms! ** 2 * 100, 6);
});

test("a dropper to a reservoir carries nearly all of the ripple's volts over its ohms", () => {
  const bench = supply()
    .resistor("RD", "B", "B2", 2200)
    .capacitor("C2", "B2", "gnd", 47e-6, true)
    .resistor("R2", "B2", "gnd", 39e3) as SupplyBench;
  const solved = bench.solve();
  const { rms, amps } = solved.reading("RD");
  const alternating = Math.sqrt(rms! ** 2 - amps! ** 2);
  // A sawtooth's rms is its height over the root of twelve.
  expect(alternating / (solved.ripple("B") / Math.sqrt(12) / 2200)).toBeGreaterThan(0.9);
  expect(alternating / (solved.ripple("B") / Math.sqrt(12) / 2200)).toBeLessThan(1.1);
});

test.each([1500, 4700, 100e3])(
  "what is behind a stopper has the reservoir's own waveform, at %i ohm of load",
  (ohms) => {
    const bench = new SupplyBench()
      .secondary(["a", "c"], [300], 60)
      .bridge("BR1", "a", "c", "B", "gnd")
      .capacitor("C1", "B", "gnd", 47e-6, true)
      .resistor("RL", "B", "gnd", ohms)
      .resistor("RS", "B", "s", 1000)
      .resistor("RV", "s", "gnd", 1e6) as SupplyBench;
    const solved = bench.solve();
    // By hand: a divider of 1 kohm and 1 Mohm, whatever the waveform.
    expect(solved.laterRipple("s") / solved.ripple("B") / (1e6 / 1.001e6)).toBeCloseTo(1, 3);
  },
);
