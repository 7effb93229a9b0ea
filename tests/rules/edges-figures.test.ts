/**
 * The figures that the rules hold parts against, said a second time and independently: each number here was taken from the
 * publication named beside it, not from the program.
 */
import { describe, expect, it } from "vitest";
import { heaterVolts } from "../../server/facts/heaters.ts";
import {
  bleedExemptFarads,
  bleedSeconds,
  bleedVolts,
  cordAmpacity,
  earthSlackMetres,
  fuseFigures,
  fuseSeries,
  liftAmps,
  plugPolarised,
  safetyTest,
  touchCurrent,
  y4Volts,
} from "../../server/facts/mains.ts";
import { margins } from "../../server/facts/margins.ts";
import {
  diodeVolts,
  e24,
  filmVolts,
  resistorHeat,
  reverse,
  standardWatts,
  surge,
} from "../../server/facts/passives.ts";
import {
  blockingSeconds,
  discharge,
  loadRatio,
  pairImbalance,
  platePeak,
  reservoirSlack,
} from "../../server/facts/practice.ts";
import { regions } from "../../server/facts/regions.ts";

const cord = (
  rows: readonly { readonly squareMetres: number; readonly amps: number }[] | undefined,
  mm2: number,
) => rows?.find((row) => Math.abs(row.squareMetres - mm2 * 1e-6) < 1e-12)?.amps;
const high = (region: keyof typeof regions) => regions[region].volts * (1 + regions[region].tolerance.high);
const low = (region: keyof typeof regions) => regions[region].volts * (1 + regions[region].tolerance.low);

const figures: readonly (readonly [string, number | undefined, number])[] = [
  // Mains.
  ["AU highest, AS 60038-2012, +10 %", high("AU"), 253],
  ["AU lowest, AS 60038-2012, -6 %", low("AU"), 216.2],
  ["NZ highest, Electricity (Safety) Regulations 2010, +6 %", high("NZ"), 243.8],
  ["UK highest, ESQC Regulations 2002, +10 %", high("UK"), 253],
  ["UK lowest, ESQC Regulations 2002, -6 %", low("UK"), 216.2],
  ["EU highest, EN 50160, +10 %", high("EU"), 253],
  ["EU lowest, EN 50160, -10 %", low("EU"), 207],
  ["US highest at the service, ANSI C84.1 range B", high("US"), 127],
  ["US lowest at the service, ANSI C84.1 range B", low("US"), 110],
  ["CA lowest, CSA C235 extreme", low("CA"), 106],
  ["JP highest, 101 V + 6 V", high("JP"), 107],
  // Protection.
  ["touch current, IEC 60950-1 table 5A, earth open", touchCurrent("AU").value, 3.5e-3],
  ["touch current, ANSI C101", touchCurrent("US").value, 0.5e-3],
  ["class X discharge, IEC 62368-1 5.5.2.2, volts", bleedVolts.value, 60],
  ["class X discharge, IEC 62368-1 5.5.2.2, seconds", bleedSeconds.value, 2],
  ["class X exempt, IEC 60950-1 2.1.1.7", bleedExemptFarads.value, 0.1e-6],
  ["class Y4 below, IEC 60384-14", y4Volts.value, 150],
  ["earth continuity, AS/NZS 3760", safetyTest.continuity("AU").value, 1],
  ["earth slack, custom, metres", earthSlackMetres.value, 0.02],
  ["lift's rectifiers, custom", liftAmps.value, 10],
  ["fuse over running current, custom, least", fuseFigures.least.value, 1.25],
  ["fuse over rated current, custom, most", fuseFigures.most.value, 2.5],
  ["fuse over rated current, NEC 450, bound under 2 A", fuseFigures.bound.value, 5],
  ["fuse continuously, UL 248-14, 75 %", 1 / fuseFigures.leastAmerican.value, 0.75],
  ["cord of 0.75 mm², IEC 60245 and 60227 cords, A", cord(cordAmpacity.other.rows, 0.75), 6],
  ["cord of 1.0 mm², IEC cords, A", cord(cordAmpacity.other.rows, 1), 10],
  ["cord of 0.75 mm², AS/NZS 3191, A", cord(cordAmpacity.regions.AU?.rows, 0.75), 7.5],
  // Heaters and valves.
  ["heater, makers' custom, warning", heaterVolts.warning.value, 0.05],
  ["heater, ratings hold within, error", heaterVolts.error.value, 0.1],
  ["push-pull pair, custom", pairImbalance.share, 0.1],
  ["overload recovery, custom, seconds", blockingSeconds.value, 0.25],
  ["plate peak over HT, custom", platePeak.ratio, 2.05],
  // Passive parts.
  ["electrolytic surge up to 315 V, IEC 60384-4", surge.factorUpTo, 1.15],
  ["electrolytic surge above 315 V, IEC 60384-4", surge.factorAbove, 1.1],
  ["electrolytic the wrong way, IEC 60384-4, volts", reverse.volts, 1],
  ["resistors, custom: twice the dissipation", margins.resistor.share, 0.5],
  ["electrolytics, custom: nine tenths", margins.capacitor.share, 0.9],
  ["carbon composition, MIL-R-39008: full power to °C", resistorHeat["carbon-composition"].fullCelsius, 70],
  ["carbon composition: no power at °C", resistorHeat["carbon-composition"].zeroCelsius, 130],
  // Supply and output.
  ["HT after switch-off, IEC 60065 9.1.1, volts", discharge.volts, 60],
  ["HT after switch-off, custom, seconds", discharge.seconds, 60],
  ["charge that may be touched, IEC 60335-1 8.1.4, µC", discharge.coulombs * 1e6, 45],
  ["energy that shocks, IEC 60335-1 8.1.4, J", discharge.shockJoules, 0.35],
  ["next standard reservoir, custom", reservoirSlack.share, 1.25],
  ["loudspeaker over tap, custom, least", loadRatio.least, 0.5],
  ["loudspeaker over tap, custom, most", loadRatio.most, 2],
];

describe("figures, against their publications", () => {
  it.each(figures)("%s", (_, held, published) => {
    expect(held).toBeCloseTo(published, 9);
  });

  it("derate a composition resistor to half at 100 °C (makers' sheets)", () => {
    const { fullCelsius, zeroCelsius } = resistorHeat["carbon-composition"];
    expect((zeroCelsius - 100) / (zeroCelsius - fullCelsius)).toBeCloseTo(0.5, 9);
  });

  it("take a plug as polarised where its pins fix it", () => {
    // AS/NZS 3112, BS 1363, NEMA 5-15 fix it; CEE 7/4 and 7/7 go in either way.
    expect([plugPolarised.AU, plugPolarised.UK, plugPolarised.US].map(({ polarised }) => polarised)).toEqual([
      true,
      true,
      true,
    ]);
    expect(plugPolarised.EU.polarised).toBe(false);
  });

  it("give every region's tolerance a source", () => {
    for (const { source } of Object.values(regions)) expect(source.length).toBeGreaterThan(5);
  });
});

describe("series of standard values", () => {
  it("E24 is the rounded 24th root of ten, but for the values that IEC 60063 keeps from E12", () => {
    expect(e24.length).toBe(24);
    // The largest of the historical departures, 3.3 for 3.16 and 4.7 for 4.64, are below 5 %.
    for (const [index, value] of e24.entries())
      expect(Math.abs(value / 10 ** (index / 24) - 1)).toBeLessThan(0.05);
  });

  it("fuses go by the R10 and R'10 steps of IEC 60127-2", () => {
    for (const amps of [
      0.05, 0.1, 0.16, 0.2, 0.25, 0.315, 0.5, 0.63, 0.8, 1, 1.25, 1.6, 2, 2.5, 3.15, 5, 6.3,
    ])
      expect(fuseSeries).toContain(amps);
    for (let index = 1; index < fuseSeries.length; index++)
      expect(fuseSeries[index] / fuseSeries[index - 1]).toBeLessThan(1.29);
  });

  it("ratings of the trade rise", () => {
    for (const series of [standardWatts, filmVolts, diodeVolts])
      for (let index = 1; index < series.length; index++)
        expect(series[index]).toBeGreaterThan(series[index - 1]);
    // The 1N4001 to 1N4007 family.
    for (const volts of [50, 100, 200, 400, 600, 800, 1000]) expect(diodeVolts).toContain(volts);
  });
});
