/** Neon indicator lamps. Sheets of the general small type (T-2, 65 V ac class) agree within the spread between lamps. */
export const neonLamp = {
  /** Direct volts at which a fresh lamp strikes: 65 V typical, 90 V the most. Source: from memory, sheets of small neon lamps. */
  strikeVolts: 90,
  /** Volts that it holds while it burns. Source: from memory, 55 to 65 V. */
  burningVolts: 60,
  /** Slope of a burning lamp, without its series resistor. Source: from memory. */
  slopeOhms: 1000,
} as const;

/** A moving-coil speaker's direct-current resistance as a part of its rated impedance. Source: common practice, 0.75 to 0.85. */
export const speakerResistanceShare = 0.8;

/**
 * Slope resistance of a zener diode that gives none: the sheets of 5 V to 200 V types lie near a fiftieth of the zener volts
 * at the test current, which is a quarter of the rated watts. Source: from memory, 1.3 W and 5 W families.
 */
export const zenerSlope = { voltsShare: 0.02, wattsShare: 0.25, watts: 1.3 } as const;
