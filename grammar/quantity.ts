/**
 * Reads one written value: IEC 60062 letter notation (`4k7`, `R47`, `1p5`) and SI (`0.022uF`, `2.5kV`, `1.0mm2`, `1/2W`).
 * Letter notation: IEC 60062:2016, "Marking codes for resistors and capacitors", clause on resistance and capacitance values.
 */
import type { Quantity, Unit } from "./tree.ts";

/** Powers of ten of the prefixes. `M` is mega and `m` milli; capital `K` and `Meg` are taken for what everyone means by them. */
const prefixes: Readonly<Record<string, number>> = {
  p: -12,
  n: -9,
  u: -6,
  µ: -6,
  μ: -6,
  m: -3,
  "": 0,
  k: 3,
  K: 3,
  M: 6,
  Meg: 6,
  MEG: 6,
  meg: 6,
  G: 9,
};

interface Written {
  readonly unit: Unit;
  readonly power: number;
  readonly alternating?: boolean;
}

const bare: Readonly<Record<string, Written>> = {
  Ω: { unit: "ohm", power: 0 }, // U+03A9 Greek capital omega
  "\u2126": { unit: "ohm", power: 0 }, // ohm sign
  ohm: { unit: "ohm", power: 0 },
  ohms: { unit: "ohm", power: 0 },
  R: { unit: "ohm", power: 0 },
  F: { unit: "farad", power: 0 },
  H: { unit: "henry", power: 0 },
  V: { unit: "volt", power: 0 },
  VAC: { unit: "volt", power: 0, alternating: true },
  Vac: { unit: "volt", power: 0, alternating: true },
  VDC: { unit: "volt", power: 0 },
  Vdc: { unit: "volt", power: 0 },
  A: { unit: "ampere", power: 0 },
  W: { unit: "watt", power: 0 },
  VA: { unit: "voltampere", power: 0 },
  Hz: { unit: "hertz", power: 0 },
  s: { unit: "second", power: 0 },
};

/** Units that take no prefix, or carry their own. */
const whole: Readonly<Record<string, Written>> = {
  "%": { unit: "percent", power: 0 },
  mm: { unit: "metre", power: -3 },
  cm: { unit: "metre", power: -2 },
  mm2: { unit: "square-metre", power: -6 },
  "mm²": { unit: "square-metre", power: -6 },
  C: { unit: "celsius", power: 0 },
  "°C": { unit: "celsius", power: 0 },
};

/** Every unit that may follow a number, prefix included; built once. */
const units: ReadonlyMap<string, Written> = buildUnits();

function buildUnits(): Map<string, Written> {
  const all = new Map<string, Written>();
  for (const [prefix, power] of Object.entries(prefixes)) {
    if (prefix !== "") all.set(prefix, { unit: "none", power });
    for (const [name, written] of Object.entries(bare)) all.set(prefix + name, { ...written, power });
  }
  for (const [name, written] of Object.entries(whole)) all.set(name, written);
  return all;
}

const vulgar: Readonly<Record<string, number>> = { "½": 0.5, "¼": 0.25, "¾": 0.75, "⅓": 1 / 3, "⅛": 0.125 };

const plain = /^([+\-−±]?)(\d+(?:\.\d+)?|\.\d+)(\D.*)?$/su;
const fraction = /^([+\-−±]?)(\d+)\/(\d+)(\D.*)?$/su;
const vulgarShape = /^([+\-−±]?)(\d*)([½¼¾⅓⅛])(.*)$/su;
/** The letter stands where the point would: `4k7`, `R47`, `6V3`; a unit may still follow (`4k7Ω`). */
const letter = /^([+\-−±]?)(?:(\d+)([pnuµμmkKMGRVAΩ\u2126])|([pnuµμkKMR]))(\d+)(\D.*)?$/su;

/**
 * Reads a whole atom as one quantity in SI base units.
 * @param text the atom as written, without blanks
 * @returns undefined where the atom is not a value (`12AX7`, `EL84`, `film`); never throws
 */
export function parseQuantity(text: string): Quantity | undefined {
  const first = text.charCodeAt(0);
  // Most atoms are words: a value begins with a digit, a sign, a point, a fraction or one letter of the notation.
  if (first >= 97 && first <= 122 && text.length > 1 && !isDigit(text.charCodeAt(1))) return undefined;
  const match = plain.exec(text);
  if (match) {
    const written = unitOf(match[3]);
    if (written) return quantity(match[1], scaled(match[2], written.power), written);
  }
  const notation = letter.exec(text);
  if (notation) return letterQuantity(notation);
  const parts = fraction.exec(text);
  if (parts) {
    const written = unitOf(parts[4]);
    const divisor = Number(parts[3]);
    if (!written || divisor === 0) return undefined;
    return quantity(parts[1], (Number(parts[2]) / divisor) * 10 ** written.power, written);
  }
  const character = vulgarShape.exec(text);
  if (character) {
    const written = unitOf(character[4]);
    if (!written) return undefined;
    const value = Number(character[2] || "0") + vulgar[character[3]];
    return quantity(character[1], value * 10 ** written.power, written);
  }
  return undefined;
}

function letterQuantity(match: RegExpExecArray): Quantity | undefined {
  const [, sign, before, inner, leading, after, tail] = match;
  const digits = `${before ?? "0"}.${after}`;
  const own = units.get(inner ?? leading);
  if (!own) return undefined;
  if (tail === undefined) return quantity(sign, scaled(digits, own.power), own);
  // `4k7Ω`, `1u5F`: the letter was a prefix, the unit follows and must have none of its own.
  const unit = bare[tail];
  if (own.unit !== "none" || !unit) return undefined;
  return quantity(sign, scaled(digits, own.power), unit);
}

function isDigit(code: number): boolean {
  return code >= 48 && code <= 57;
}

function unitOf(tail: string | undefined): Written | undefined {
  return tail ? units.get(tail) : none;
}
const none: Written = { unit: "none", power: 0 };

/** Through the decimal text, so that `4.7k` is 4700 to the last bit. */
function scaled(digits: string, power: number): number {
  return power === 0 ? Number(digits) : Number(`${digits}e${power}`);
}

function quantity(sign: string, magnitude: number, written: Written): Quantity | undefined {
  if (!Number.isFinite(magnitude)) return undefined;
  const value = sign === "-" || sign === "−" ? -magnitude : magnitude;
  return written.alternating
    ? { value, unit: written.unit, alternating: true }
    : { value, unit: written.unit };
}

const bareNumber = /^[+\-−±]?(?:\d+(?:\.\d+)?|\.\d+|\d+\/\d+|\d*[½¼¾⅓⅛])$/u;
/** A number with nothing behind it: `230`, `0.5`, `1/2`. */
export function isBareNumber(text: string): boolean {
  return bareNumber.test(text);
}

/** A unit that stands alone, prefix included: the `kΩ` of `4.7 kΩ`. */
export function isUnit(text: string): boolean {
  return units.has(text);
}

/**
 * Reads values joined by `-`: `290-0-290V`, `4R-8R-16R`, `0-220-240V`. Each takes the unit of the last where its own is `none`.
 * @returns two values or more, or undefined where the atom is no such series
 */
export function parseSeries(text: string): readonly Quantity[] | undefined {
  if (text.indexOf("-", 1) < 0 || !/^[\d.½¼¾R]/u.test(text)) return undefined;
  const pieces = text.split("-");
  const values: Quantity[] = [];
  for (const piece of pieces) {
    const value = parseQuantity(piece);
    if (!value || !/^[\d.½¼¾R]/u.test(piece)) return undefined;
    values.push(value);
  }
  const last = values[values.length - 1];
  const power = seriesPower(pieces[pieces.length - 1]);
  const series = values.map((value, index) =>
    value.unit !== "none"
      ? value
      : { ...last, value: isBareNumber(pieces[index]) ? scaled(String(value.value), power) : value.value },
  );
  // Ohms and volts in one row are no series of anything.
  return series.every(({ unit }) => unit === last.unit) ? series : undefined;
}

/** `0-1-2kV`: the prefix behind the last number holds for the bare ones before it. */
function seriesPower(last: string): number {
  const match = plain.exec(last);
  return match ? (unitOf(match[3])?.power ?? 0) : 0;
}

const fuseShape = /^(FF|F|TT|T|M)(\d.*|\.\d.*)$/u;
/** A fuse's IEC 60127-1 letter (FF, F, M, T, TT) and current in one: `T500mA`, `F1.6A`. */
export function parseFuse(text: string): { readonly letter: string; readonly amps: number } | undefined {
  const match = fuseShape.exec(text);
  const current = match ? parseQuantity(match[2]) : undefined;
  return match && current?.unit === "ampere" ? { letter: match[1], amps: current.value } : undefined;
}
