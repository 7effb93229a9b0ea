/** The mains by region: volts, tolerance, frequency. Plug polarity and cord colours stand in `mains.ts`. */
import type { Region } from "../circuit/model.ts";
import type { Sourced } from "./figure.ts";

export interface RegionMains extends Sourced {
  readonly volts: number;
  readonly hertz: number;
  /** Fractions of the nominal volts; `low` is negative. */
  readonly tolerance: { readonly low: number; readonly high: number };
}

export const regions: Readonly<Record<Region, RegionMains>> = {
  AU: {
    volts: 230,
    hertz: 50,
    tolerance: { low: -0.06, high: 0.1 },
    source: "AS 60038-2012: 230 V +10 % −6 % at the point of supply",
    evidence: "seen",
  },
  NZ: {
    volts: 230,
    hertz: 50,
    tolerance: { low: -0.06, high: 0.06 },
    source: "New Zealand Electricity (Safety) Regulations 2010: 230 V ±6 %",
    evidence: "seen",
  },
  UK: {
    volts: 230,
    hertz: 50,
    tolerance: { low: -0.06, high: 0.1 },
    source: "Electricity Safety, Quality and Continuity Regulations 2002: 230 V +10 % −6 %",
    evidence: "seen",
  },
  EU: {
    volts: 230,
    hertz: 50,
    tolerance: { low: -0.1, high: 0.1 },
    source: "EN 50160: 230 V ±10 %",
    evidence: "seen",
  },
  CH: {
    volts: 230,
    hertz: 50,
    tolerance: { low: -0.1, high: 0.1 },
    source: "EN 50160: 230 V ±10 %",
    evidence: "memory",
  },
  US: {
    volts: 120,
    hertz: 60,
    // 110 to 127 V at the service.
    tolerance: { low: -10 / 120, high: 7 / 120 },
    source: "ANSI C84.1 range B at the service: 110 to 127 V of 120 V",
    evidence: "memory",
  },
  CA: {
    volts: 120,
    hertz: 60,
    // 106 to 127 V.
    tolerance: { low: -14 / 120, high: 7 / 120 },
    source: "CSA C235, extreme conditions: 106 to 127 V of 120 V",
    evidence: "memory",
  },
  JP: {
    volts: 100,
    hertz: 50,
    // 95 to 107 V: 101 V ± 6 V.
    tolerance: { low: -0.05, high: 0.07 },
    source: "Japan, Electricity Business Act rules: 101 V ± 6 V (50 Hz in the east, 60 Hz in the west)",
    evidence: "seen",
  },
};

/** Taken where the file names no region. */
export const unregioned: RegionMains = {
  volts: 230,
  hertz: 50,
  tolerance: { low: -0.1, high: 0.1 },
  source: "IEC 60038: ±10 %",
  evidence: "seen",
};

/** Air around the parts of a valve amplifier, °C, where the file assumes none. */
export const defaultAmbient = {
  value: 40,
  source: "common practice: a ventilated valve amplifier's inside in a 25 °C room",
  evidence: "practice",
} as const;

/**
 * What a region's supply gives where the file writes its own volts. The published limits are volts at the point of supply, so
 * `mains 240 V 50 Hz AU` stands between 216.2 and 253 V as 230 V does. Volts outside of them are of another supply (110 V from a
 * stepping-down transformer): its limits are taken in the same proportion.
 */
export function supplyRange({ volts, tolerance, source }: RegionMains, written = volts) {
  const limits = mainsRange(volts, tolerance);
  if (written >= limits.low && written <= limits.high)
    return { volts: { ...limits, nominal: written }, source };
  return { volts: mainsRange(written, tolerance), source: `${source}, in proportion` };
}

/** Volts of the three levels. @param tolerance shares of the nominal volts, the lower one negative */
export function mainsRange(nominal: number, { low, high }: { readonly low: number; readonly high: number }) {
  // 230 V and 10 % are 253 V, not 253.00000000000003.
  const plain = (volts: number): number => Number(volts.toPrecision(12));
  return { low: plain(nominal * (1 + low)), nominal, high: plain(nominal * (1 + high)) };
}
