/** Figures of power supplies that no sheet of a part gives. Every one says where it is from. */

/**
 * rms current of a winding for one ampere of direct current out of a capacitor-input supply, by circuit. A centre-tapped
 * winding's is that of one half.
 */
export const windingFactor = {
  /** Source: Hammond Manufacturing, Design Guide for Rectifier Use: I dc = 1.00 x I ac. */
  centreTapped: { value: 1.0, source: "Hammond Manufacturing, Design Guide for Rectifier Use" },
  /** I dc = 0.62 x I ac. */
  bridge: { value: 1 / 0.62, source: "Hammond Manufacturing, Design Guide for Rectifier Use" },
  /** I dc = 0.28 x I ac. */
  halfWave: { value: 1 / 0.28, source: "Hammond Manufacturing, Design Guide for Rectifier Use" },
  /** I dc = 0.28 x I ac. */
  doubler: { value: 1 / 0.28, source: "Hammond Manufacturing, Design Guide for Rectifier Use, from memory" },
} as const;

/** A capacitor of this size holds a net still against mains ripple: a reservoir, not a coupling or snubber. Common practice. */
export const reservoirFarads = 0.47e-6;

/** Reverse leakage of a blocking rectifier, siemens: 1 uA at 1 kV, a cool silicon diode's typical figure. From memory. */
export const rectifierLeakage = 1e-9;

/** Spread of a winding's resistance between transformers of a type. Common practice. */
export const windingSpread = { fraction: 0.1, source: "common practice" } as const;

/** Spread of an estimated resistance. Common practice: a rating tells it no closer. */
export const estimateSpread = { fraction: 0.3, source: "common practice" } as const;

/** Spread of a rectifier valve's current at given volts, new valves. Common practice. */
export const rectifierSpread = { fraction: 0.15, source: "common practice" } as const;

/** Spread of a silicon diode's drop. From memory. */
export const junctionSpread = { fraction: 0.1, source: "from memory" } as const;

/** Volts to which the time of a discharge is told, the hazard voltage and one below it: `discharge` in server/facts/practice.ts. */
export const dischargeVolts = [60, 50] as const;

/**
 * The rms current of a rectifier's winding grows a little slower than the direct current that it gives, as the wider pulses of a
 * heavier load are flatter: by this power of it.
 */
export const rmsByDirect = {
  exponent: 0.83,
  source:
    "closed form of a full-wave rectifier with a large reservoir (tan φ − φ = π Rs / 2RL, axes as in O. H. Schade, Proc. IRE 31, " +
    "1943), from 1 % to 8 % of source resistance",
} as const;
