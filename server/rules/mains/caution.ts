/** The usual cautions, said with every rule of the mains and the earth. */
export const MAINS_CAUTION =
  "Unplug before opening, discharge the reservoir capacitors and measure that they are, and keep one hand clear. Mains " +
  "wiring is work for a qualified person and your local code comes first. A clean report is not proof of safety.";
