/** The mains of each region: nominal volts, hertz, tolerance at the point of supply. */
type Region = "AU" | "NZ" | "UK" | "EU" | "CH" | "US" | "CA" | "JP";

export interface RegionMains {
  readonly volts: number;
  readonly hertz: number;
  readonly upPercent: number;
  readonly downPercent: number;
  readonly source: string;
}

export const regionMains: Readonly<Record<Region, RegionMains>> = {
  AU: { volts: 230, hertz: 50, upPercent: 10, downPercent: 6, source: "AS 60038" },
  NZ: { volts: 230, hertz: 50, upPercent: 6, downPercent: 6, source: "NZ Electricity (Safety) Regulations 2010" },
  UK: { volts: 230, hertz: 50, upPercent: 10, downPercent: 6, source: "UK Electricity Safety, Quality and Continuity Regulations 2002" },
  EU: { volts: 230, hertz: 50, upPercent: 10, downPercent: 10, source: "EN 50160" },
  CH: { volts: 230, hertz: 50, upPercent: 10, downPercent: 10, source: "EN 50160" },
  // Range B at the point of use is 104 to 127 V; from memory.
  US: { volts: 120, hertz: 60, upPercent: 5.8, downPercent: 13, source: "ANSI C84.1 Range B utilisation, volts from memory" },
  CA: { volts: 120, hertz: 60, upPercent: 5.8, downPercent: 11.7, source: "CSA C235 extreme range, from memory" },
  JP: { volts: 100, hertz: 50, upPercent: 7, downPercent: 5, source: "Electricity Business Act: 101 V, plus or minus 6 V" },
};

/** Where no region is named. */
export const unknownRegion: RegionMains = { volts: 230, hertz: 50, upPercent: 10, downPercent: 10, source: "IEC 60038" };
