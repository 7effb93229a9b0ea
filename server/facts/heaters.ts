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
} as const;
