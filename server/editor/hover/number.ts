/** A quantity written out: `4k7` is 4700 ohms. */
import { parseQuantity } from "../../../grammar/quantity.ts";
import type { Unit } from "../../../grammar/tree.ts";
import { meaningOf } from "../../circuit/kinds/index.ts";
import { type QuantityUnit, quantity } from "../../rules/frame/quantity.ts";
import type { Occurrence } from "../occurrences.ts";

const SYMBOL: Readonly<Partial<Record<Unit, QuantityUnit>>> = {
  ohm: "Ω",
  farad: "F",
  henry: "H",
  volt: "V",
  ampere: "A",
  watt: "W",
  voltampere: "VA",
  hertz: "Hz",
  percent: "%",
  metre: "m",
  "square-metre": "m2",
  celsius: "°C",
  second: "s",
};

const PLURAL: Readonly<Partial<Record<Unit, string>>> = {
  ohm: "ohms",
  farad: "farads",
  henry: "henries",
  volt: "volts",
  ampere: "amperes",
  watt: "watts",
  voltampere: "volt-amperes",
  hertz: "hertz",
  percent: "percent",
  metre: "metres",
  "square-metre": "square metres",
  celsius: "degrees Celsius",
  second: "seconds",
};

/** What a bare number means, by the kind of part that it stands in. */
const BARE: Readonly<Record<string, Unit>> = {
  resistor: "ohm",
  pot: "ohm",
  thermistor: "ohm",
  capacitor: "farad",
  choke: "henry",
  speaker: "ohm",
  "output-transformer row": "ohm",
};

export function hoverNumber(occurrence: Occurrence): string | undefined {
  const found = parseQuantity(occurrence.text);
  if (found === undefined) return fuseRating(occurrence.text);
  const unit = found.unit === "none" ? BARE[occurrence.kind ?? ""] : found.unit;
  const symbol = unit && SYMBOL[unit];
  if (unit === undefined || symbol === undefined) return `\`${occurrence.text}\` is ${found.value}`;
  const plain = Number(found.value.toPrecision(12)).toString();
  return `\`${occurrence.text}\` is **${quantity(found.value, symbol, 4)}** (${plain} ${PLURAL[unit]}${found.alternating ? ", alternating" : ""})`;
}

/** `T500mA` is a time-lag fuse of 500 mA. */
function fuseRating(text: string): string | undefined {
  const [, letters, rest] = /^([A-Z]+)([\d.]+.*)$/.exec(text) ?? [];
  const current = rest === undefined ? undefined : parseQuantity(/A$/.test(rest) ? rest : `${rest}A`);
  const character = letters && meaningOf("fuse", letters);
  if (!character || current?.unit !== "ampere") return undefined;
  return `\`${text}\` is **${quantity(current.value, "A", 4)}**, rated as IEC 60127 does. ${character}`;
}
