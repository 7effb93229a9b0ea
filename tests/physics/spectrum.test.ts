/** Harmonics of a waveform that a cycle's long steps know: those that it is made of (Fourier), and no others. */
import { describe, expect, it } from "vitest";
import { highest } from "../../server/physics/supply/harmonics.ts";
import type { CycleRecord } from "../../server/physics/supply/record.ts";
import { looksAt, spectrumOf } from "../../server/physics/supply/spectrum.ts";
import { stageAt, stages, stageWeights } from "../../server/physics/supply/steps.ts";

const period = 0.02;
const omega = (2 * Math.PI) / period;

/** The instants of a cycle's steps, of which a waveform is known: long ones between two pulses, short ones in them, as a supply's are. */
function record(): CycleRecord {
  const lengths = [...new Array(7).fill(1 / 18), ...new Array(16).fill(1 / 144)];
  const steps = [...lengths, ...lengths];
  const begun = steps.map((_, k) => steps.slice(0, k).reduce((sum, one) => sum + one, 0));
  const count = steps.length * stages;
  const at = (n: number) => Math.floor(n / stages);
  const time = Float64Array.from(
    { length: count },
    (_, n) => (begun[at(n)] + stageAt[n % stages] * steps[at(n)]) * period,
  );
  const weight = Float64Array.from({ length: count }, (_, n) => stageWeights[n % stages] * steps[at(n)]);
  const none = new Float64Array(0);
  const mains = new Float64Array(count);
  return { count, time, weight, mains, x: none, v: none, i: none, stretches: [], endByStart: none };
}

describe("the spectrum of a supply's waveform", () => {
  for (const volts of [0, 380, -60]) {
    it(`of ripple on ${volts} V has no harmonic that comes of the direct volts`, () => {
      const known = record();
      const wave = Float64Array.from(known.time, (t) => volts + 3e-3 * Math.cos(2 * omega * t - 0.5));
      const found = spectrumOf(wave, known, looksAt(known, omega));
      expect(found[0] / 2).toBeCloseTo(volts, 5);
      expect(found[4] / (3e-3 * Math.cos(0.5))).toBeCloseTo(1, 2);
      expect(found[5] / (3e-3 * Math.sin(0.5))).toBeCloseTo(1, 2);
      for (let order = 1; order <= highest; order++) {
        if (order === 2) continue;
        expect(Math.hypot(found[2 * order], found[2 * order + 1]), `order ${order}`).toBeLessThan(3e-5);
      }
    });
  }
});
