import { regulation, unknownVoltAmperes } from "../facts/transformers.ts";
import type { Fact } from "../../../../grammar/tree.ts";
import { assumed } from "../fact-reader.ts";
import { baseOf, type Draft, type DraftRow, type KindDefinition } from "../kind.ts";
import type { Given, Transformer, Winding } from "../../model.ts";

export const transformer: KindDefinition = {
  kind: "transformer",
  help: "A mains transformer: a row for each winding with its volts, amperes, resistance and nets from start over taps to end.",
  path: [],
  terminals: "any",
  words: ["no-load", "dc", "toroidal", "screened"],
  facts: [{ example: "80VA", what: "rated power" }],
  limits: ["load", "winding current"],
  rows: "windings",
  build(draft): Transformer {
    const voltAmperes = draft.facts.quantity("voltAmperes", { units: ["voltampere"], range: [0.1, 1e6] });
    draft.facts.word("core", ["toroidal", "screened", "toroid"]);
    draft.facts.finish(["toroidal"]);
    const drafts = draft.rows.map((row) => readWinding(draft, row)).filter((row) => row !== undefined);
    if (draft.rows.length === 0)
      draft.problem("circuit/missing-value", `${draft.facts.subject} has no windings: write a row for each, such as heater 6.3V 2A { h1 h2 }.`, draft.referencePlace);
    const seen = new Set<string>();
    const kept = drafts.filter(({ row, written }) => {
      if (!seen.has(written.name)) {
        seen.add(written.name);
        return true;
      }
      draft.problem("circuit/duplicate-reference", `${draft.reference} has two windings called ${written.name}; the first counts.`, row.namePlace);
      return false;
    });
    const secondaries = kept.filter(({ written }) => written.name !== "primary");
    const power = voltAmperes?.value ?? (sum(secondaries.map(({ written }) => load(written))) || unknownVoltAmperes);
    const windings = kept.map(({ written }): Winding => ({ ...written, ohms: written.ohms ?? estimate(written, power) }));
    const primary = windings.find(({ name }) => name === "primary");
    if (primary === undefined && windings.length > 0)
      draft.problem("circuit/missing-value", `${draft.facts.subject} has no winding called primary; nothing drives it.`, draft.referencePlace);
    const terminals = new Map<string, number>();
    const terminalPlaces = new Map<string, Winding["place"]>();
    for (const winding of windings) {
      winding.nets.forEach((net, index) => {
        terminals.set(`${winding.name}.${index + 1}`, net);
        terminalPlaces.set(`${winding.name}.${index + 1}`, winding.netPlaces[index]);
      });
    }
    return {
      ...baseOf(draft),
      terminals,
      terminalPlaces,
      kind: "transformer",
      ...(voltAmperes ? { voltAmperes } : {}),
      ...(primary ? { primary } : {}),
      secondaries: windings.filter(({ name }) => name !== "primary"),
    };
  },
};

type Written = Omit<Winding, "ohms"> & { readonly ohms?: Given };

function readWinding(draft: Draft, row: DraftRow): { readonly row: DraftRow; readonly written: Written } | undefined {
  const name = row.item.name.text;
  const reader = draft.reader(row.item.facts, `winding ${name} of ${draft.reference}`);
  const series = reader.take("volts", (fact) => fact.series !== undefined);
  const plain = series ? undefined : reader.quantity("volts", { units: ["volt"], range: [0.01, 100_000] });
  const amps = reader.quantity("amps", { units: ["ampere"], range: [1e-5, 10_000] });
  const direct = row.item.facts.some((fact: Fact) => fact.direct === true);
  const ohms =
    reader.quantity("ohms", { units: ["ohm"], label: ["dcr", "resistance"], range: [0, 1e6] }) ??
    reader.quantity("ohms", { units: ["ohm", "none"], range: [0, 1e6] });
  const noLoad = reader.word("noLoad", ["no-load"]) !== undefined;
  reader.finish(["no-load", "dc"]);
  for (const [field, place] of reader.places) draft.facts.places.set(`${name}.${field}`, place);
  const steps = series ? segments(series.series?.map(({ value }) => value) ?? []) : plain ? [plain.value] : undefined;
  if (steps === undefined) {
    draft.problem("circuit/missing-value", `winding ${name} of ${draft.reference} has no volts.`, row.namePlace);
    return undefined;
  }
  if (row.nets.length < 2) {
    draft.problem("circuit/missing-value", `winding ${name} of ${draft.reference} needs the nets of its ends: { start end }.`, row.place);
    return undefined;
  }
  const wanted = steps.length + 1;
  if (row.nets.length !== wanted)
    draft.problem(
      "circuit/winding-nets",
      `winding ${name} of ${draft.reference} is written ${series?.text ?? plain?.place ? (series?.text ?? "with one voltage") : ""}, which has ${wanted} nets from start to end; ${row.nets.length} are given.`.replace("  ", " "),
      row.place,
    );
  const nets = row.nets.slice(0, wanted);
  const segmentVolts = steps.slice(0, nets.length - 1);
  const volts = sum(segmentVolts);
  return {
    row,
    written: {
      name,
      place: row.place,
      nets,
      netPlaces: row.netPlaces.slice(0, wanted),
      segmentVolts,
      volts: { value: volts, origin: "file", place: series ? reader.place(series) : plain?.place },
      noLoad: noLoad || (amps === undefined && name !== "primary"),
      ...(amps ? { amps } : {}),
      direct,
      ...(ohms ? { ohms } : {}),
    },
  };
}

/**
 * Volts between neighbouring taps. `290-0-290`: from a zero inside, both sides are counted away from it. `0-220-240`
 * and other rising rows are positions from the start. Without a zero the numbers are positions too, the first from 0.
 */
export function segments(values: readonly number[]): number[] {
  const zero = values.indexOf(0);
  const positions = values.map((value, index) => (zero > 0 && index < zero ? -value : value));
  const steps: number[] = [];
  for (let index = 1; index < positions.length; index++) steps.push(Math.abs(positions[index] - positions[index - 1]));
  return steps;
}

const sum = (values: readonly number[]) => values.reduce((total, value) => total + value, 0);

/** VA that a winding's own rating speaks of; a centre-tapped one carries its amperes in one half at a time. */
function load(winding: Written): number {
  if (winding.amps === undefined) return 0;
  const halves = winding.segmentVolts.length > 1 ? Math.max(...winding.segmentVolts) * Math.SQRT2 : winding.volts.value;
  return halves * winding.amps.value;
}

/** Resistance that gives the winding its share of the usual regulation at its rated current. */
function estimate(winding: Written, power: number): Given {
  const total = power >= regulation.largeFromVoltAmperes ? regulation.large : regulation.small;
  if (winding.name === "primary") {
    const drop = total * regulation.primaryShare * winding.volts.value;
    return assumed(drop / (power / winding.volts.value), "estimate", regulation.source);
  }
  const share = total * (1 - regulation.primaryShare);
  // Without a current the winding is taken to be a tenth of the transformer: a bias or pilot winding.
  const amps = winding.amps?.value ?? (power * 0.1) / winding.volts.value;
  return assumed((share * winding.volts.value) / amps, "estimate", regulation.source);
}
