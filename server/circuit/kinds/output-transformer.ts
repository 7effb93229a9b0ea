/** The output transformer: rows `plates` and `speaker`. */
import type { Fact, RowItem } from "../../../grammar/tree.ts";
import { leastPlateOhms, outputCopper } from "../../facts/transformers.ts";
import type { Given, NetIndex, OutputTransformer, Place } from "../model.ts";
import { near, type Problems, problem } from "../problems.ts";
import { readFacts } from "../read-facts.ts";
import { amps, copperOhms, estimated, made, watts } from "./common.ts";
import type { Building, FactTable, KindSpec, NumberFact, RawPart, ReadFacts } from "./kind.ts";
import { rowKey, wireRows } from "./transformer.ts";

const rowNames = ["plates", "speaker"];

const impedance: NumberFact = {
  field: "ohms",
  unit: "ohm",
  bare: "ohm",
  what: "impedance",
  example: "8k",
  most: 1e6,
};
const copper: NumberFact = { ...copperOhms, field: "resistance", example: "280R" };

const platesFacts: FactTable = {
  numbers: [
    impedance,
    copper,
    { ...amps, what: "standing current", example: "60mA", labels: ["standing"] },
    {
      field: "tap",
      unit: "percent",
      what: "screen tap",
      example: "43%",
      labels: ["tap", "at"],
      scale: 0.01,
      most: 1,
    },
  ],
  words: { dc: { field: "direct", value: "direct", description: "The standing current is direct." } },
};
const speakerFacts: FactTable = {
  numbers: [
    { ...impedance, example: "8R" },
    { ...copper, example: "0.5R" },
  ],
  words: {},
};
const tappedSpeakerFacts: FactTable = { numbers: [{ ...copper, example: "0.5R" }], words: {} };

export const outputTransformer: KindSpec = {
  kind: "output-transformer",
  description: "An output transformer, with the rows plates and speaker.",
  example: "output-transformer T2 20W { plates 8k 280R { pA HT1 pB }, speaker 15R { spk gnd } }",
  terminals: [],
  rows: rowNames,
  path: false,
  facts: { numbers: [watts], words: {} },
  limits: ["power", "standing current of a single-ended winding"],
  wire(raw, problems) {
    wireRows(raw, problems);
    for (const item of raw.items) if (item.node === "row") tellRow(raw, item, problems);
  },
  terminalKey: rowKey,
  terminalNames: (raw) => [...raw.wiring.keys()],
  build(building) {
    const rows = building.raw.items.filter((item): item is RowItem => item.node === "row");
    const row = (name: string) => rows.find((one) => one.name.text === name);
    const plates = row("plates");
    const speaker = row("speaker");
    return made<OutputTransformer>(building.base, {
      kind: "output-transformer",
      watts: building.facts.numbers.watts,
      plates: plates && readPlates(building, plates),
      speaker: speaker && readSpeaker(building, speaker),
    });
  },
};

function tellRow(raw: RawPart, row: RowItem, problems: Problems): void {
  const { text, range } = row.name;
  if (rowNames.includes(text)) return;
  const place = { file: raw.scope.file, range };
  const meant = text === "primary" ? "plates" : text === "secondary" ? "speaker" : undefined;
  const { sentence, fix } = meant
    ? { sentence: ` It is called ${meant} here.`, fix: { title: `Write ${meant}`, place, text: meant } }
    : near(text, rowNames, place, "Its windings");
  problems.push(
    problem(
      "circuit/unknown-terminal",
      `${raw.reference}: an output transformer has no winding called ${text}.${sentence}`,
      raw.scope.file,
      range,
      [raw.reference],
      { fix },
    ),
  );
}

interface RowNets {
  readonly nets: readonly NetIndex[];
  readonly netPlaces: readonly Place[];
}

function netsOf(building: Building, row: RowItem): RowNets {
  const nets: NetIndex[] = [];
  const netPlaces: Place[] = [];
  row.nets.forEach((word, index) => {
    const net = building.net(`${row.name.text}.${index + 1}`);
    if (net === undefined) return;
    nets.push(net);
    netPlaces.push(building.place(word.range));
  });
  return { nets, netPlaces };
}

function teller({ raw, problems }: Building, row: RowItem) {
  return (rule: string, message: string, range = row.name.range) =>
    problems.push(
      problem(rule, `${raw.reference}.${row.name.text}${message}`, raw.place.file, range, [raw.reference]),
    );
}

/** Impedance and resistance are both in ohms: without a word the larger is the impedance, whatever their order. */
function ohmsOf(facts: ReadFacts): { impedance?: Given; copper?: Given } {
  const first = facts.numbers.ohms;
  const second = facts.numbers.resistance;
  const labelled = second?.place !== undefined && first?.place !== undefined && isLabelled(facts);
  if (first && second && !labelled && second.value > first.value) return { impedance: second, copper: first };
  return { impedance: first, copper: second };
}

function isLabelled(facts: ReadFacts): boolean {
  return facts.words.labelled !== undefined;
}

function readRow(building: Building, row: RowItem, table: FactTable, written: readonly Fact[]): ReadFacts {
  const facts = readFacts(
    table,
    written,
    {
      reference: `${building.raw.reference}.${row.name.text}`,
      kind: "winding of an output transformer",
      file: building.raw.place.file,
    },
    building.problems,
  );
  const labelled = written.some(
    (fact) => fact.label !== undefined && copper.labels!.includes(fact.label.text),
  );
  return labelled ? { ...facts, words: { ...facts.words, labelled: "labelled" } } : facts;
}

function readPlates(building: Building, row: RowItem): OutputTransformer["plates"] {
  const tell = teller(building, row);
  const { nets, netPlaces } = netsOf(building, row);
  const facts = readRow(building, row, platesFacts, row.facts);
  const read = ohmsOf(facts);
  const slip = read.impedance !== undefined && read.impedance.value < leastPlateOhms.value;
  if (slip && read.impedance && !facts.wrong) {
    tell(
      "circuit/unit",
      `: ${read.impedance.value} Ω is no impedance of plates, which have ${leastPlateOhms.value} Ω at least. Expected one such as 8k.`,
      read.impedance.place?.range,
    );
  }
  const ohms = slip ? undefined : read.impedance;
  // What is left is the copper's.
  const resistance = slip ? read.impedance : read.copper;
  const tap = facts.numbers.tap;
  if (nets.length < 2) {
    tell(
      "circuit/winding-nets",
      " needs its nets from one plate to the other: { pA HT1 pB }, or { pA HT1 } for a single-ended stage.",
    );
    return undefined;
  }
  if (nets.length === 4 || nets.length > 5) {
    tell(
      "circuit/winding-nets",
      ` has ${nets.length} nets: two (single-ended), three (push-pull), or five with screen taps are expected.`,
    );
  }
  if (nets.length === 5 && !tap && !facts.places.has("tap")) {
    tell(
      "circuit/missing-value",
      " has screen taps and does not say where: write their share of the turns, such as 43%. 43 % is taken.",
    );
  }
  if (nets.length === 2 && tap) {
    tell(
      "circuit/winding-nets",
      ` has a screen tap at ${Math.round(tap.value * 100)} % and no net for it: { pA uA HT1 } or { pA uA HT1 uB pB }.`,
      tap.place?.range,
    );
  }
  if (!ohms && !slip && !facts.wrong && !facts.places.has("ohms")) {
    tell("circuit/missing-value", " has no impedance: write one behind its name, such as plates 8k.");
  }
  const single = nets.length === 2 || (nets.length === 3 && tap !== undefined);
  const value =
    ohms ??
    estimated(
      single ? 5000 : 8000,
      `${building.raw.reference} gives no plate impedance: ${single ? "5 kΩ" : "8 kΩ"} taken, common practice`,
    );
  const share = single ? outputCopper.single : outputCopper.plates;
  return {
    place: building.place(row.range),
    nets,
    netPlaces,
    ohms: value,
    resistance: resistance ?? estimated(value.value * share.value, share.source),
    amps: facts.numbers.amps,
    tap:
      tap ?? (nets.length === 5 ? estimated(0.43, "common practice: ultra-linear taps at 43 %") : undefined),
  };
}

function readSpeaker(building: Building, row: RowItem): OutputTransformer["speaker"] {
  const tell = teller(building, row);
  const { nets, netPlaces } = netsOf(building, row);
  const series = row.facts.find((fact) =>
    fact.series?.every((one) => one.unit === "ohm" || one.unit === "none"),
  );
  const facts = readRow(
    building,
    row,
    series ? tappedSpeakerFacts : speakerFacts,
    row.facts.filter((fact) => fact !== series),
  );
  if (nets.length < 2) {
    tell(
      "circuit/winding-nets",
      " needs two nets, { spk gnd }, or the common and a net for each tap, { gnd s4 s8 s16 }.",
    );
    return undefined;
  }
  let ohms: readonly number[];
  let resistance = facts.numbers.resistance;
  if (series) {
    // `0-4-8-16R` and `4R-8R-16R` are the same taps: the common is the 0.
    ohms = series.series!.map((one) => one.value).filter((value, index) => index > 0 || value !== 0);
    if (ohms.some((value, index) => !(value > (ohms[index - 1] ?? 0)))) {
      tell("circuit/unit", `: ${series.text} are no taps that rise, such as 4R-8R-16R.`, series.range);
      ohms = ohms.filter((value) => value > 0).sort((one, other) => one - other);
    }
    if (nets.length !== ohms.length + 1) {
      tell(
        "circuit/winding-nets",
        `: ${series.text} needs ${ohms.length + 1} nets, the common first, and ${nets.length} are written.`,
        series.range,
      );
    }
  } else {
    const read = ohmsOf(facts);
    resistance = read.copper;
    if (!read.impedance && !facts.wrong && !facts.places.has("ohms")) {
      tell("circuit/missing-value", " has no impedance: write one behind its name, such as speaker 8R.");
    }
    ohms = [read.impedance?.value ?? 8];
    if (nets.length > 2) {
      tell(
        "circuit/winding-nets",
        ` has ${nets.length} nets and one impedance: write each tap, such as 4R-8R-16R { gnd s4 s8 s16 }.`,
      );
    }
  }
  const largest = Math.max(0, ...ohms);
  return {
    place: building.place(row.range),
    nets,
    netPlaces,
    ohms,
    resistance: resistance ?? estimated(largest * outputCopper.speaker.value, outputCopper.speaker.source),
  };
}
