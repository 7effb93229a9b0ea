/** Figures that no sheet of a type gives, taken from practice or from memory; every one says which. */

/** Forward law of a silicon rectifier. */
export const semiconductorPractice = {
  /** nVt of a silicon power rectifier near 50 C. Source: from memory, n about 1.7. */
  slopeVolts: 0.046,
  /** Volts that it drops at a small current. Source: common practice, a meter's diode range reads 0.55 to 0.6 V. */
  kneeVolts: 0.58,
  kneeAmps: 0.001,
  /**
   * Printed forward drop of a general 1 A rectifier. Source: Yangjie 1N4001 to 1N4007 sheet, 1.0 V at 1 A. Larger ones drop the same
   * at their own rated current: the 1N5408's sheets print 1.0 V at 3 A.
   */
  forwardVolts: 1.0,
  forwardAmps: 1.0,
  /**
   * A diode that drops so much at so small a current is of another semiconductor (a light-emitting diode): its junction takes all
   * of it but a few ohms, and moves by twice as much with the current. Source: from memory, gallium arsenide phosphide, n about 2.
   */
  lightVolts: 1.15,
  lightMostAmps: 0.1,
  lightSlopeVolts: 0.054,
  lightOhms: 4,
  /** Lead and bulk resistance is never less. Source: from memory. */
  leastOhms: 0.005,
  /** Current at which small zener diodes are rated. Source: from memory, 5 mA for 0.4 W to 0.5 W types. */
  zenerTestAmps: 0.005,
} as const;

/**
 * Grid current. Sheets print only where it starts (European sheets: at most 0.3 uA at -1.3 V, EF86; the typical valve
 * lies nearer -0.6 V). Source: from memory.
 */
export const gridPractice = {
  /** Part of the section's own perveance (plate amperes at one effective volt) that the grid diode has. */
  triodeShare: 0.2,
  pentodeShare: 0.1,
  contactVolts: -0.25,
  /** A current falls e-fold in two thirds of this: emission velocities of an oxide cathode near 1000 K. */
  widthVolts: 0.14,
} as const;

/**
 * Spread of plate current between valves of a type when the file does not say (`assume valve-spread`). A maker's
 * published limits for new 6V6GT (33 to 59 mA about 45) are wider, -27 % to +31 %; of 6SN7 (7 to 13 mA about 9)
 * -22 % to +44 %. Valves sold matched lie within about 10 %. Source: common practice.
 */
export const valveSpread = { fraction: 0.15, source: "common practice" } as const;
