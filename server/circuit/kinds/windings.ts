/**
 * Windings: the rows of a transformer's block.
 *
 * How written volts are read. Values joined by `-` are taps, in the order of the nets:
 *  - `50V` two nets, `340-0-340V` three, `0-220-240V` three, `300-0-55-300V` four: one net per value;
 *  - the 0 is where they are counted from. Right of it they rise; left of it they are counted down, so `300-0-55-300V` stands
 *    at -300, 0, 55 and 300 V, and its segments are 300, 55 and 245 V;
 *  - without a 0 the start is the 0, and there is one net more than values: `220-240V { a b c }` is `0-220-240V`.
 * One value with more than two nets is told and shared evenly (`6.3V { h1 ct h2 }` should be `3.15-0-3.15V`).
 */
import type { Fact, Quantity, RowItem } from "../../../grammar/tree.ts";
import type { Given, NetIndex, Place, Winding } from "../model.ts";
import { problem } from "../problems.ts";
import { readFacts } from "../read-facts.ts";
import { amps, copperOhms, volts } from "./common.ts";
import type { Building, FactTable } from "./kind.ts";

export const windingFacts: FactTable = {
  numbers: [
    { ...volts, example: "6.3V", labels: [] },
    { ...volts, alternating: true, example: "6.3VAC", labels: [] },
    { ...amps, example: "4A" },
    copperOhms,
    {
      ...volts,
      field: "insulationVolts",
      what: "insulation voltage",
      example: "insulation 1kV",
      labels: ["insulation"],
      labelled: true,
    },
  ],
  words: {
    "no-load": { field: "noLoad", value: "no-load", description: "Its volts are the open-circuit ones." },
    dc: {
      field: "direct",
      value: "direct",
      description: "Its amperes are the direct current of the supply that it feeds.",
    },
  },
};

/** A winding as written, its resistance not yet estimated. */
export interface WrittenWinding extends Omit<Winding, "ohms"> {
  readonly ohms?: Given;
}

/**
 * Volts between neighbouring taps.
 * @returns undefined where the series fits no winding: two zeros, or values that do not rise away from the 0
 */
export function segmentsOf(values: readonly number[], nets: number): readonly number[] | undefined {
  const zeros = values.filter((value) => value === 0).length;
  if (zeros > 1 || values.some((value) => !(value >= 0))) return undefined;
  if (zeros === 0) {
    if (nets !== values.length + 1) return undefined;
    return rising([0, ...values]);
  }
  if (nets !== values.length) return undefined;
  const zero = values.indexOf(0);
  return rising(values.map((value, index) => (index < zero ? -value : value)));
}

function rising(positions: readonly number[]): readonly number[] | undefined {
  const segments = positions.slice(1).map((position, index) => position - positions[index]);
  return segments.every((segment) => segment > 0) ? segments : undefined;
}

/** Reads one row. @returns undefined where it has fewer than two nets, which is told */
export function readWinding(
  building: Building,
  row: RowItem,
  isPrimary: boolean,
): WrittenWinding | undefined {
  const { raw, problems } = building;
  const name = row.name.text;
  const reference = `${raw.reference}.${name}`;
  const file = raw.place.file;
  const tell = (rule: string, message: string, range = row.name.range) =>
    problems.push(problem(rule, message, file, range, [raw.reference]));
  const nets: NetIndex[] = [];
  const netPlaces: Place[] = [];
  row.nets.forEach((word, index) => {
    const net = building.net(`${name}.${index + 1}`);
    if (net === undefined) return;
    nets.push(net);
    netPlaces.push(building.place(word.range));
  });
  const seriesFact = row.facts.find((fact) =>
    fact.series?.every((one) => one.unit === "volt" || one.unit === "none"),
  );
  const facts = readFacts(
    windingFacts,
    row.facts.filter((fact) => fact !== seriesFact),
    { reference, kind: "winding", file },
    problems,
  );
  if (nets.length < 2) {
    tell(
      "circuit/winding-nets",
      `${reference} has ${nets.length === 0 ? "no nets" : "one net"}: write them from its start to its end, ${name} ${row.facts[0]?.text ?? "6.3V"} { a b }.`,
    );
    return undefined;
  }
  let segmentVolts: readonly number[] | undefined;
  let voltsGiven: Given | undefined;
  let refused = false;
  if (seriesFact) {
    if (facts.numbers.volts) {
      tell(
        "circuit/unknown-fact",
        `${reference} has two voltages, ${seriesFact.text} and another one.`,
        facts.numbers.volts.place?.range,
      );
    }
    segmentVolts = fitSeries(seriesFact, nets.length, reference, (rule, message, range) => {
      if (rule === "circuit/unit") refused = true;
      tell(rule, message, range);
    });
    voltsGiven = {
      value: segmentVolts.reduce((sum, one) => sum + one, 0),
      origin: "file",
      place: building.place(seriesFact.range),
    };
  } else if (facts.numbers.volts) {
    const whole = facts.numbers.volts.value;
    voltsGiven = facts.numbers.volts;
    if (nets.length > 2) {
      tell(
        "circuit/winding-nets",
        `${reference} has ${nets.length} nets and one voltage: write the taps, such as ${evenTaps(whole, nets.length)} for ${nets.length} nets. Even parts are taken.`,
        facts.numbers.volts.place?.range,
      );
    }
    segmentVolts = Array.from({ length: nets.length - 1 }, () => whole / (nets.length - 1));
  } else {
    if (!facts.wrong && !facts.places.has("volts")) {
      tell(
        "circuit/missing-value",
        `${reference} has no voltage: write one behind its name, such as ${name} 6.3V.`,
      );
    }
    refused = true;
    // Nothing is induced in it as far as this file says.
    segmentVolts = Array.from({ length: nets.length - 1 }, () => 0);
    voltsGiven = { value: 0, origin: "estimate", source: `${reference} has no voltage: 0 V taken` };
  }
  const current = facts.numbers.amps;
  return {
    name,
    place: building.place(row.range),
    nets,
    netPlaces,
    segmentVolts,
    volts: voltsGiven,
    noLoad: isPrimary || facts.words.noLoad !== undefined || !current,
    amps: current,
    direct: facts.words.direct !== undefined,
    ohms: facts.numbers.ohms,
    refused: refused || undefined,
  };
}

function fitSeries(
  fact: Fact,
  nets: number,
  reference: string,
  tell: (rule: string, message: string, range?: Fact["range"]) => void,
): readonly number[] {
  const values = (fact.series as readonly Quantity[]).map((one) => one.value);
  const fitting = segmentsOf(values, nets);
  if (fitting) return fitting;
  const wanted = values.includes(0) ? values.length : values.length + 1;
  const sound = segmentsOf(values, wanted);
  if (sound) {
    tell(
      "circuit/winding-nets",
      `${reference}: ${fact.text} has ${wanted} taps from end to end and ${nets} nets are written. Write one net for each, in order.`,
      fact.range,
    );
    // The ends are the ends; what lies between is shared evenly.
    const whole = sound.reduce((sum, one) => sum + one, 0);
    return Array.from({ length: nets - 1 }, () => whole / (nets - 1));
  }
  tell(
    "circuit/unit",
    `${reference}: ${fact.text} is no row of taps. Volts rise away from a single 0, such as 0-220-240V or 300-0-55-300V.`,
    fact.range,
  );
  const highest = Math.max(...values.map((value) => Math.abs(value)));
  return Array.from({ length: nets - 1 }, () => highest / (nets - 1));
}

function evenTaps(whole: number, nets: number): string {
  const step = whole / (nets - 1);
  const rounded = (value: number) => String(Number(value.toPrecision(4)));
  if (nets === 3) return `${rounded(step)}-0-${rounded(step)}V`;
  return `${Array.from({ length: nets }, (_, index) => rounded(step * index)).join("-")}V`;
}

/** Both halves wound alike about a tap: full-wave rectifiers use it. */
export function isCentreTapped(segments: readonly number[]): boolean {
  const whole = segments.reduce((sum, one) => sum + one, 0);
  let at = 0;
  for (const segment of segments) {
    at += segment;
    if (Math.abs(at - whole / 2) < whole * 0.01 && segments.length > 1) return true;
  }
  return false;
}
