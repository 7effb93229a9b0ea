/** A part's facts in one line, for hovers, symbols and completion. */
import type { Given, Part } from "../circuit/model.ts";
import { type QuantityUnit, quantity } from "../rules/frame/quantity.ts";

const UNIT_OF_FIELD: Readonly<Record<string, QuantityUnit>> = {
  ohms: "Ω",
  hotOhms: "Ω",
  resistance: "Ω",
  watts: "W",
  volts: "V",
  voltsAlternating: "V",
  voltsDirect: "V",
  surgeVolts: "V",
  amps: "A",
  rippleAmps: "A",
  farads: "F",
  henries: "H",
  voltAmperes: "VA",
  metres: "m",
  squareMetres: "m2",
};

const WORD_FIELDS = [
  "material",
  "safetyClass",
  "typeWritten",
  "type",
  "character",
  "breaking",
  "duty",
  "fixing",
  "taper",
  "colour",
];

function isGiven(value: unknown): value is Given {
  return typeof value === "object" && value !== null && "value" in value && "origin" in value;
}

/** "100 kΩ, 1 W, metal-film"; figures that the file did not give are marked as estimates or left out. */
export function describeFacts(part: Part): string {
  const words: string[] = [];
  const fields = part as unknown as Readonly<Record<string, unknown>>;
  for (const name of WORD_FIELDS) {
    const value = fields[name];
    if (typeof value === "string" && value !== "" && !(name === "type" && "typeWritten" in fields))
      words.push(value);
  }
  const numbers: string[] = [];
  for (const [name, unit] of Object.entries(UNIT_OF_FIELD)) {
    const value = fields[name];
    if (!isGiven(value) || value.origin === "default") continue;
    numbers.push(`${value.origin === "estimate" ? "about " : ""}${quantity(value.value, unit)}`);
  }
  return [...numbers, ...words].join(", ");
}
