/** Facts of wires and cord cores: cross-section, length, colour. */
import { words } from "./common.ts";
import type { NumberFact } from "./kind.ts";

export const crossSection: NumberFact = {
  field: "squareMetres",
  unit: "square-metre",
  what: "cross-section",
  example: "1.0mm2",
  most: 1e-3,
};
export const lengthFact: NumberFact = {
  field: "metres",
  unit: "metre",
  what: "length",
  example: "60mm",
  most: 100,
};

const colour = "A conductor's colour.";
export const colourWords = {
  ...words("colour", {
    brown: colour,
    blue: colour,
    "light-blue": colour,
    "green-yellow": colour,
    green: colour,
    yellow: colour,
    black: colour,
    white: colour,
    red: colour,
    orange: colour,
    grey: colour,
    violet: colour,
    pink: colour,
    turquoise: colour,
    bare: "No insulation.",
  }),
  gray: { field: "colour", value: "grey", description: colour },
  purple: { field: "colour", value: "violet", description: colour },
  "green/yellow": { field: "colour", value: "green-yellow", description: colour },
  "yellow/green": { field: "colour", value: "green-yellow", description: colour },
  "yellow-green": { field: "colour", value: "green-yellow", description: colour },
} as const;
