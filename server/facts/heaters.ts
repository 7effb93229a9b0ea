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

/** Indirectly heated rectifiers whose cathode is joined to a heater pin inside the bulb: base diagrams, pin 8 "H, K". */
export const cathodeOnHeater = {
  types: ["GZ34", "5V4GA"] as readonly string[],
  source: "base diagram of the sheet, pin 8 heater and cathode (from memory)",
} as const;
