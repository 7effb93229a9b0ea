/** How far a heater may stand from its rated volts, as fractions. */
export const heaterVolts = {
  warning: {
    value: 0.05,
    source: "valve makers' custom: ±5 % for long life",
  },
  error: {
    value: 0.1,
    source: "valve ratings hold within ±10 % (Radio Constructor, April 1962; valve makers' general notes)",
  },
  /** Further allowance where the windings' resistance is estimated: a third of the usual rise to no load. */
  estimated: { value: 0.04, source: "common practice: no-load rise of 10 to 15 %, guessed to a third" },
} as const;

/**
 * A valve whose heater has less than this part of its volts is taken to give nothing: its cathode is then a quarter cooler (the
 * heater's watts go with about the 1.6th power of its volts, and the cathode's radiation with the fourth of its temperature), where
 * Richardson's equation for an oxide cathode of 1 eV leaves some three parts in a hundred of its emission.
 */
export const outOfHeat = {
  share: 0.5,
  source: "Richardson's equation, figures of an oxide cathode from memory",
} as const;

/** Indirectly heated rectifiers whose cathode is joined to a heater pin inside the bulb: base diagrams, pin 8 "H, K". */
export const cathodeOnHeater = {
  types: ["GZ34", "5V4GA"] as readonly string[],
  source: "base diagram of the sheet, pin 8 heater and cathode (from memory)",
} as const;

/** A heater with a higher crest about its level than this hangs in a string with others. */
export const heaterString = {
  crestVolts: 20,
  source: "common practice: a winding for one heater gives 12.6 V at most, 17.8 V at its crest",
} as const;

/** A resistor in a heater's lead that its current passes; a larger one only ties it to a level. */
export const heaterDropper = {
  mostOhms: 1000,
  source: "common practice: some hundred ohms in a string on the mains",
} as const;
