/** Quantities as the trade writes them: three figures, a prefix, a blank, the unit. */

export type QuantityUnit =
  | "V"
  | "A"
  | "W"
  | "VA"
  | "Ω"
  | "F"
  | "H"
  | "J"
  | "s"
  | "Hz"
  | "m"
  | "m2"
  | "°C"
  | "%";

const PREFIXES: readonly (readonly [factor: number, prefix: string])[] = [
  [1e9, "G"],
  [1e6, "M"],
  [1e3, "k"],
  [1, ""],
  [1e-3, "m"],
  [1e-6, "µ"],
  [1e-9, "n"],
  [1e-12, "p"],
];

/** Which prefixes a unit is met with at a bench: nobody writes megawatts, and microfarads go on past a thousand. */
const RANGE: Readonly<Partial<Record<QuantityUnit, readonly [largest: number, smallest: number]>>> = {
  V: [1e3, 1e-3],
  A: [1, 1e-6],
  W: [1, 1e-3],
  VA: [1, 1e-3],
  Ω: [1e6, 1e-3],
  F: [1e-6, 1e-12],
  H: [1, 1e-6],
  J: [1, 1e-3],
  s: [1, 1e-6],
  Hz: [1e6, 1],
  m: [1, 1e-3],
  "°C": [1, 1],
  "%": [1, 1],
};

/** A number with at most `figures` significant figures, without trailing zeros or an exponent. */
export function figure(value: number, figures = 3): string {
  if (!Number.isFinite(value)) return Number.isNaN(value) ? "an unknown" : value > 0 ? "an unlimited" : "-∞";
  if (value === 0) return "0";
  const magnitude = Math.floor(Math.log10(Math.abs(value)));
  // Whole numbers keep their units figure: 1234, not 1230.
  const decimals = Math.min(12, Math.max(0, figures - 1 - magnitude));
  const text = value.toFixed(decimals);
  return text.includes(".") ? text.replace(/\.?0+$/, "") : text;
}

/**
 * @param value in the unit's SI base (square metres for `m2`, whole percent for `%`)
 * @returns "437 V", "23.4 mA", "4.7 kΩ", "0.022 µF" as "22 nF", "1 mm²"
 */
export function quantity(value: number, unit: QuantityUnit, figures = 3): string {
  if (unit === "m2") return `${figure(value * 1e6, figures)} mm²`;
  if (!Number.isFinite(value)) return `${figure(value)} ${unit}`;
  const [largest, smallest] = RANGE[unit] ?? [1, 1];
  // Half a unit in the last figure is taken off first, so that 999.9 mA is written 1 A.
  const size = Math.abs(value) * (1 + 0.5 * 10 ** -figures);
  let [factor, prefix] = [smallest, PREFIXES.find(([f]) => f === smallest)?.[1] ?? ""];
  for (const [f, p] of PREFIXES) {
    if (f > largest || f < smallest) continue;
    // Volts and watts stay in whole units down to a tenth: 0.5 W, 0.3 V; kilovolts begin at a thousand.
    const from = f === 1 && (unit === "W" || unit === "V" || unit === "VA") ? 0.1 : f;
    if (size >= from) {
      [factor, prefix] = [f, p];
      break;
    }
  }
  if (value === 0) [factor, prefix] = [1, ""];
  return `${figure(value / factor, figures)} ${prefix}${unit}`;
}

/** Below these a figure is the arithmetic's own noise, and no meter shows it. */
const NOISE: Readonly<Partial<Record<QuantityUnit, number>>> = { V: 5e-4, A: 5e-8, W: 5e-7, VA: 5e-7 };

/** As `quantity`, with noise as zero: for tables of whatever was computed. */
export function metered(value: number, unit: QuantityUnit, figures = 3): string {
  return quantity(Math.abs(value) < (NOISE[unit] ?? 0) ? 0 : value, unit, figures);
}

/** A ratio as percent: 0.092 -> "9 %", 0.0021 -> "0.2 %". */
export function percent(fraction: number): string {
  const value = fraction * 100;
  const size = Math.abs(value);
  return `${size >= 2 ? Math.round(value) : figure(value, size >= 0.1 ? 2 : 1)} %`;
}

/** "a", "a and b", "a, b and c"; more than `most` names end in "and 3 more". */
export function listed(names: readonly string[], most = 6): string {
  const shown =
    names.length > most ? [...names.slice(0, most - 1), `${names.length - most + 1} more`] : [...names];
  if (shown.length < 2) return shown.join("");
  return `${shown.slice(0, -1).join(", ")} and ${shown[shown.length - 1]}`;
}
