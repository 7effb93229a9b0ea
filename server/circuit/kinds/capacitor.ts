import { capacitorTolerance } from "../../facts/tolerances.ts";
import type { Capacitor, CapacitorMaterial } from "../model.ts";
import { amps, byDefault, made, required, tolerance, volts, words } from "./common.ts";
import type { KindSpec, RawPart, TerminalSpec } from "./kind.ts";

/** A value is not known: too little to hold or pass anything. */
const noFarads = 1e-15;

function isPolarised(raw: RawPart): boolean {
  let electrolytic = false;
  for (const { word } of raw.facts) {
    if (word?.text === "electrolytic") electrolytic = true;
    else if (word?.text === "bipolar") return false;
  }
  return electrolytic;
}

/** An electrolytic's terminals are plus and minus, any other's a and b; the file may call either so. */
const polarisedTerminals: readonly TerminalSpec[] = [
  { name: "plus", aliases: ["a", "1", "positive"], description: "plus of an electrolytic" },
  { name: "minus", aliases: ["b", "2", "negative"], description: "minus of an electrolytic" },
];
const plainTerminals: readonly TerminalSpec[] = [
  { name: "a", aliases: ["plus", "1"], description: "the one end" },
  { name: "b", aliases: ["minus", "2"], description: "the other end" },
];

export const capacitor: KindSpec = {
  kind: "capacitor",
  description: "A capacitor; an electrolytic has its plus on the left of a path.",
  example: "HT1 -- capacitor C20 32u 450V electrolytic -- gnd",
  terminals: polarisedTerminals,
  terminalsOf: (raw) => (isPolarised(raw) ? polarisedTerminals : plainTerminals),
  path: true,
  facts: {
    numbers: [
      {
        field: "farads",
        unit: "farad",
        bare: "farad",
        what: "capacitance",
        example: "22n",
        most: 10,
        required: true,
      },
      { ...volts, example: "400V" },
      {
        field: "voltsAlternating",
        unit: "volt",
        alternating: true,
        what: "alternating voltage",
        example: "275VAC",
        labels: ["working"],
        most: 1e5,
      },
      {
        ...volts,
        field: "surgeVolts",
        what: "surge voltage",
        example: "surge 550V",
        labels: ["surge", "peak"],
        labelled: true,
      },
      { ...amps, field: "rippleAmps", what: "ripple current", example: "ripple 300mA", labels: ["ripple"] },
      tolerance,
      {
        field: "esrOhms",
        unit: "ohm",
        bare: "ohm",
        what: "series resistance",
        example: "esr 1R",
        labels: ["esr"],
        labelled: true,
        zero: true,
        most: 1e6,
      },
      {
        ...amps,
        field: "leakageAmps",
        what: "leakage current",
        example: "leakage 1mA",
        labels: ["leakage"],
        labelled: true,
      },
    ],
    words: {
      ...words("material", {
        film: "A plastic film capacitor.",
        paper: "A paper capacitor: old ones leak.",
        ceramic: "A ceramic capacitor.",
        mica: "A silvered mica capacitor.",
        electrolytic: "An aluminium electrolytic: polarised.",
      }),
      ...words("safetyClass", {
        X1: "For use across the mains, high pulse voltage.",
        X2: "For use across the mains.",
        X3: "For use across the mains, low pulse voltage; an old class.",
        Y1: "From mains to earth or metal, double insulation.",
        Y2: "From mains to earth or metal.",
        Y3: "From mains to earth or metal, no pulse test.",
        Y4: "From mains to earth or metal, below 150 V.",
      }),
      bipolar: {
        field: "polarity",
        value: "bipolar",
        description: "An electrolytic that stands either polarity.",
      },
    },
  },
  limits: ["voltage: dc plus ripple and signal peak", "surge voltage", "reverse voltage", "ripple current"],
  build(building) {
    const { base, facts, raw } = building;
    const material = facts.words.material as CapacitorMaterial | undefined;
    return made<Capacitor>(base, {
      kind: "capacitor",
      farads: required(building, "farads", "capacitance", "22n", noFarads, "taken as none"),
      volts: facts.numbers.volts,
      voltsAlternating: facts.numbers.voltsAlternating,
      surgeVolts: facts.numbers.surgeVolts,
      rippleAmps: facts.numbers.rippleAmps,
      material,
      safetyClass: facts.words.safetyClass as Capacitor["safetyClass"],
      tolerance: facts.numbers.tolerance ?? byDefault(capacitorTolerance[material ?? "unknown"]),
      polarised: isPolarised(raw),
    });
  },
};
