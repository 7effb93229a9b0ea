/** Rules of thumb for windings whose resistance the file leaves out. Every figure from them is an estimate, and told so. */

/** Rise of the no-load volts over the rated ones, as a fraction of the rated, and what part of the loss the primary has. */
export const regulation = {
  /** 10 to 20 % below 100 VA: the middle. */
  small: 0.15,
  /** 5 to 10 % above. */
  large: 0.075,
  largeFromVoltAmperes: 100,
  /** Copper is shared about equally between primary and secondaries. */
  primaryShare: 0.5,
  source: "common practice: regulation 10 to 20 % below 100 VA, 5 to 10 % above, copper loss shared equally",
} as const;

/** Power of a transformer that neither its rating nor its windings tell. Common practice: a small practice amplifier. */
export const unknownVoltAmperes = 60;

/** Direct resistance of an output transformer's plate winding, end to end, as a share of its impedance. */
export const plateWindingShare = { value: 0.04, source: "common practice: 3 to 5 % of the plate load" } as const;
/** Direct resistance of a speaker winding as a share of its impedance. */
export const speakerWindingShare = { value: 0.06, source: "common practice" } as const;
/** Resistance of a smoothing choke by its inductance, ohms per henry. */
export const chokeOhmsPerHenry = { value: 20, source: "common practice: about 20 ohms a henry" } as const;
