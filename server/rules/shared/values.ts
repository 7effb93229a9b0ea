/** Standard values: the next one up, and how they are written in a netlist. */
import { e12, e24 } from "../../facts/passives.ts";

/** The first of a rising series that is at least `least`; undefined past its end. */
export function nextOf(series: readonly number[], least: number): number | undefined {
  return series.find((value) => value >= least * (1 - 1e-9));
}

function within(series: readonly number[], value: number, up: boolean): number {
  const decade = 10 ** Math.floor(Math.log10(value));
  const steps = [...series.map((step) => step * decade), series[0] * decade * 10];
  if (up) return steps.find((step) => step >= value * (1 - 1e-9)) ?? value;
  return [...steps].reverse().find((step) => step <= value * (1 + 1e-9)) ?? value;
}

/** Next E24 ohms at or above. */
export const ohmsUp = (ohms: number): number => within(e24, ohms, true);
/** Next E24 ohms at or below. */
export const ohmsDown = (ohms: number): number => within(e24, ohms, false);
/** Next E12 ohms at or below, for parts whose value is not fine. */
export const ohmsDownCoarse = (ohms: number): number => within(e12, ohms, false);

/** Ohms in IEC 60062 letters: 4k7, 220k, 1M, 130R, R47. */
export function writeOhms(ohms: number): string {
  const [letter, factor] = ohms >= 1e6 ? ["M", 1e6] : ohms >= 1e3 ? ["k", 1e3] : ["R", 1];
  const text = String(Number((ohms / factor).toPrecision(3)));
  if (!text.includes(".")) return `${text}${letter}`;
  const [whole, part] = text.split(".");
  return `${whole === "0" ? "" : whole}${letter}${part}`;
}

/** 0.5 W, 2 W, as a fact: `0.5W`. */
export const writeWatts = (watts: number): string => `${Number(watts.toPrecision(4))}W`;
export const writeVolts = (volts: number): string => `${Number(volts.toPrecision(4))}V`;
