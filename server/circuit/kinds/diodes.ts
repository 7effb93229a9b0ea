import { zenerTolerance } from "../../facts/tolerances.ts";
import type { Bridge, Diode, Given, Zener } from "../model.ts";
import { near, problem } from "../problems.ts";
import { amps, byDefault, made, ohms, required, tolerance, volts, watts } from "./common.ts";
import type { Building, KindSpec, NumberFact, TerminalSpec } from "./kind.ts";

const anode: TerminalSpec = {
  name: "anode",
  aliases: ["a", "plus"],
  description: "the end that current flows in at",
};
const cathode: TerminalSpec = { name: "cathode", aliases: ["k", "minus"], description: "the banded end" };
const inverseVolts: NumberFact = {
  ...volts,
  what: "peak inverse voltage",
  example: "1000V",
  labels: ["working", "peak"],
};
const forwardAmps: NumberFact = { ...amps, what: "average forward current", example: "1A" };
const peakAmps: NumberFact = {
  ...amps,
  field: "surgeAmps",
  what: "surge current",
  example: "surge 30A",
  labels: ["surge", "peak"],
  labelled: true,
};
const dropVolts: NumberFact = {
  ...volts,
  field: "dropVolts",
  what: "forward drop",
  example: "drop 1V",
  labels: ["drop"],
  labelled: true,
};
const silicon = {
  silicon: { field: "material", value: "silicon", description: "A silicon rectifier." },
  germanium: { field: "material", value: "germanium", description: "A germanium diode." },
} as const;

/** Ratings as written, else those published for the type. */
function ratings(building: Building): {
  readonly type?: string;
  readonly volts?: Given;
  readonly amps?: Given;
} {
  const { facts, raw, problems, book } = building;
  const { volts: inverse, amps: forward } = facts.numbers;
  const type = facts.type;
  const known = type && book.findSemiconductor(type.text);
  if (type && !known && !(inverse && forward)) {
    const place = building.place(type.range);
    const { sentence, fix } = near(type.text, book.semiconductorNames(), place);
    problems.push(
      problem(
        "circuit/unknown-type",
        `${raw.reference}: no data is held for a ${type.text}. Write its ratings behind it, such as 1000V 1A.${sentence}`,
        raw.scope.file,
        type.range,
        [raw.reference],
        { fix },
      ),
    );
  }
  const published = (value: number | undefined): Given | undefined =>
    value === undefined ? undefined : { value, origin: "default", source: known!.limits.source };
  return {
    type: type?.text,
    volts: inverse ?? published(known?.limits.inverseVolts),
    amps: forward ?? published(known?.limits.forwardAmpsAverage),
  };
}

export const diode: KindSpec = {
  kind: "diode",
  description: "A semiconductor diode: anode on the left of a path.",
  example: "htA -- diode D1 1N4007 -- HT1",
  terminals: [anode, cathode],
  path: true,
  facts: {
    numbers: [inverseVolts, forwardAmps, peakAmps, dropVolts],
    words: silicon,
    type: { example: "1N4007", required: false },
  },
  limits: ["peak inverse voltage", "average forward current"],
  build: (building) => made<Diode>(building.base, { kind: "diode", ...ratings(building) }),
};

export const zener: KindSpec = {
  kind: "zener",
  description: "A zener diode: anode on the left of a path.",
  example: "gnd -- zener D2 12V 1.3W -- bias",
  terminals: [anode, cathode],
  path: true,
  facts: {
    numbers: [
      { ...volts, what: "zener voltage", example: "12V", labels: [], required: true },
      watts,
      { ...ohms, what: "slope resistance", example: "slope 10R", labels: ["slope", "resistance"] },
      tolerance,
    ],
    words: {},
    type: { example: "1N4742", required: false },
  },
  limits: ["power"],
  build(building) {
    const { base, facts } = building;
    return made<Zener>(base, {
      kind: "zener",
      volts: required(building, "volts", "zener voltage", "12V", 1e5, "taken as never conducting"),
      watts: facts.numbers.watts,
      ohms: facts.numbers.ohms,
      tolerance: facts.numbers.tolerance ?? byDefault(zenerTolerance),
    });
  },
};

export const bridge: KindSpec = {
  kind: "bridge",
  description: "A bridge rectifier.",
  example: "bridge D3 1000V 1A { ac1: sA, ac2: sB, plus: HT1, minus: gnd }",
  terminals: [
    { name: "ac1", aliases: ["ac", "ac-1"], description: "one alternating input" },
    { name: "ac2", aliases: ["ac-2"], description: "the other alternating input" },
    { name: "plus", aliases: ["positive"], description: "plus of the output" },
    { name: "minus", aliases: ["negative"], description: "minus of the output" },
  ],
  path: false,
  facts: {
    numbers: [inverseVolts, forwardAmps, peakAmps, dropVolts],
    words: silicon,
    type: { example: "W10", required: false },
  },
  limits: ["peak inverse voltage", "average forward current"],
  build: (building) => made<Bridge>(building.base, { kind: "bridge", ...ratings(building) }),
};
