/** The usual cautions, for every text that shows dangerous volts or touches mains and earth. */

export const HIGH_VOLTAGE_CAUTION =
  "**Lethal voltages.** Unplug, let the capacitors discharge, measure before you touch; measure live with one hand only. For a qualified person; local codes come first.";

/** Where no volts were found: they may be any. */
export const UNKNOWN_VOLTAGE_CAUTION =
  "**Unknown voltages: take them for lethal.** Unplug, let the capacitors discharge, measure before you touch; measure live with one hand only. For a qualified person; local codes come first.";

export const MAINS_CAUTION =
  "**Mains.** Unplug before opening. Mains wiring and the earth are work for a qualified person; local codes come first. A clean check is not a safety test.";

/** Volts from which the caution stands beside a figure: 60 V dc, the limit of touchable volts in IEC 62368-1 (ES1). */
export const HAZARD_VOLTS = 60;
