import { plateWindingShare, speakerWindingShare } from "../facts/transformers.ts";
import { assumed } from "../fact-reader.ts";
import { baseOf, type Draft, type DraftRow, type KindDefinition } from "../kind.ts";
import type { OutputTransformer } from "../../model.ts";

export const outputTransformer: KindDefinition = {
  kind: "output-transformer",
  help: "An output transformer: `plates` with its impedance and nets from plate to plate, `speaker` with its taps.",
  path: [],
  terminals: "any",
  words: [],
  facts: [{ example: "20W", what: "rated power" }],
  limits: ["power", "direct current"],
  rows: "windings",
  build(draft): OutputTransformer {
    const watts = draft.facts.quantity("watts", { units: ["watt"], range: [0.01, 10_000] });
    draft.facts.finish([]);
    let plates: OutputTransformer["plates"];
    let speaker: OutputTransformer["speaker"];
    const terminals = new Map<string, number>();
    const terminalPlaces = new Map<string, DraftRow["place"]>();
    for (const row of draft.rows) {
      const name = row.item.name.text;
      if (name === "plates" || name === "primary") plates ??= readPlates(draft, row);
      else if (name === "speaker" || name === "secondary") speaker ??= readSpeaker(draft, row);
      else {
        draft.problem("circuit/unknown-terminal", `${draft.facts.subject} has the windings plates and speaker; ${name} is neither.`, row.namePlace);
        continue;
      }
      row.nets.forEach((net, index) => {
        const word = name === "primary" ? "plates" : name === "secondary" ? "speaker" : name;
        terminals.set(`${word}.${index + 1}`, net);
        terminalPlaces.set(`${word}.${index + 1}`, row.netPlaces[index]);
      });
    }
    return { ...baseOf(draft), terminals, terminalPlaces, kind: "output-transformer", ...(watts ? { watts } : {}), ...(plates ? { plates } : {}), ...(speaker ? { speaker } : {}) };
  },
};

function readPlates(draft: Draft, row: DraftRow): OutputTransformer["plates"] {
  const reader = draft.reader(row.item.facts, `winding plates of ${draft.reference}`);
  // The impedance comes first, the resistance of the wire second: both are ohms.
  const ohms = reader.take("ohms", (fact) => fact.label === undefined && isOhms(fact.quantity?.unit));
  const second = reader.take("resistance", (fact) => isOhms(fact.quantity?.unit) && (fact.label === undefined || ["dcr", "resistance"].includes(fact.label.text)));
  const amps = reader.quantity("amps", { units: ["ampere"], range: [1e-5, 100] }) ?? reader.quantity("amps", { units: ["ampere"], label: "standing", range: [1e-5, 100] });
  const tap = reader.quantity("tap", { units: ["percent"], range: [0, 100] }) ?? reader.quantity("tap", { units: ["percent"], label: "tap", range: [0, 100] });
  reader.finish([]);
  for (const [field, place] of reader.places) draft.facts.places.set(`plates.${field}`, place);
  if (ohms?.quantity === undefined || !(ohms.quantity.value > 0)) {
    draft.problem("circuit/missing-value", `winding plates of ${draft.reference} has no impedance, such as 8k.`, row.namePlace);
    return undefined;
  }
  const count = row.nets.length;
  if (count !== 2 && count !== 3 && count !== 5) {
    draft.problem("circuit/winding-nets", `winding plates of ${draft.reference} has two nets (plate, supply), three (plate, supply, plate) or five with screen taps; ${count} are given.`, row.place);
    if (count < 2) return undefined;
  }
  const impedance = ohms.quantity.value;
  return {
    place: row.place,
    nets: row.nets,
    netPlaces: row.netPlaces,
    ohms: { value: impedance, origin: "file", place: reader.place(ohms) },
    resistance: second?.quantity
      ? { value: second.quantity.value, origin: "file", place: reader.place(second) }
      : assumed(impedance * plateWindingShare.value, "estimate", plateWindingShare.source),
    ...(amps ? { amps } : {}),
    ...(tap ? { tap: { ...tap, value: tap.value / 100 } } : {}),
  };
}

function readSpeaker(draft: Draft, row: DraftRow): OutputTransformer["speaker"] {
  const reader = draft.reader(row.item.facts, `winding speaker of ${draft.reference}`);
  const ohms = reader.take("ohms", (fact) => fact.series !== undefined || (fact.label === undefined && isOhms(fact.quantity?.unit)));
  const second = reader.take("resistance", (fact) => isOhms(fact.quantity?.unit));
  reader.finish([]);
  for (const [field, place] of reader.places) draft.facts.places.set(`speaker.${field}`, place);
  const values = ohms?.series?.map(({ value }) => value).filter((value) => value > 0) ?? (ohms?.quantity ? [ohms.quantity.value] : []);
  if (values.length === 0) {
    draft.problem("circuit/missing-value", `winding speaker of ${draft.reference} has no impedance, such as 8R.`, row.namePlace);
    return undefined;
  }
  if (row.nets.length !== values.length + 1)
    draft.problem("circuit/winding-nets", `winding speaker of ${draft.reference} has ${values.length + 1} nets, the common one first; ${row.nets.length} are given.`, row.place);
  if (row.nets.length < 2) return undefined;
  return {
    place: row.place,
    nets: row.nets,
    netPlaces: row.netPlaces,
    ohms: values,
    resistance: second?.quantity
      ? { value: second.quantity.value, origin: "file", place: reader.place(second) }
      : assumed(Math.max(...values) * speakerWindingShare.value, "estimate", speakerWindingShare.source),
  };
}

const isOhms = (unit: string | undefined) => unit === "ohm" || unit === "none";
