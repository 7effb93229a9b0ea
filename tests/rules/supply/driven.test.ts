/** How a winding's rms current grows with the direct current: held to the closed form that Schade's axes have at large reservoirs. */
import { describe, expect, it } from "vitest";
import { rmsByDirect } from "../../../server/facts/supply.ts";

/** Full-wave, the reservoir without ripple: source resistance as a part of the load. Volts of the crest, ohms of the source: 1. */
function supply(part: number): { readonly direct: number; readonly rms: number } {
  // tan φ − φ = π/2 · Rs/RL, φ half the angle of conduction.
  let [low, high] = [1e-6, Math.PI / 2 - 1e-9];
  for (let k = 0; k < 200; k++) {
    const middle = (low + high) / 2;
    if (Math.tan(middle) - middle < (Math.PI / 2) * part) low = middle;
    else high = middle;
  }
  const volts = Math.cos(low);
  // One plate's current, (cos θ − cos φ) while it conducts, once in a cycle.
  const steps = 20_000;
  let square = 0;
  for (let k = 0; k < steps; k++)
    square += (Math.cos(-low + (2 * low * (k + 0.5)) / steps) - volts) ** 2 * ((2 * low) / steps);
  return { direct: volts * part, rms: Math.sqrt(square / (2 * Math.PI)) };
}

describe("rms current by direct current", () => {
  // The ratio of rms to average that the handbook's limit has at 1 %, 4 % and 8 %.
  it.each([
    [0.01, 3.2606],
    [0.04, 2.6237],
    [0.08, 2.3679],
  ])("of a plate at %d of the load is that of the limit", (part, ratio) => {
    const { direct, rms } = supply(part);
    expect(rms / (direct / 2) / ratio).toBeCloseTo(1, 3);
  });

  it.each([
    [0.01, 0.02],
    [0.02, 0.04],
    [0.04, 0.08],
  ])("grows by the power that is taken, from %d to %d", (less, more) => {
    const [one, other] = [supply(less), supply(more)];
    const exponent = Math.log(other.rms / one.rms) / Math.log(other.direct / one.direct);
    expect(Math.abs(exponent - rmsByDirect.exponent)).toBeLessThan(0.01);
  });
});
