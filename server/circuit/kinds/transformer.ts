import { nearNames } from "../../../grammar/near.ts";
import type { Transformer } from "../model.ts";
import { type Problems, problem } from "../problems.ts";
import { wireOne } from "../wire.ts";
import { made } from "./common.ts";
import { withCopper } from "./copper.ts";
import type { Building, KindSpec, RawPart } from "./kind.ts";
import { readWinding, type WrittenWinding } from "./windings.ts";

export const transformer: KindSpec = {
  kind: "transformer",
  description: "A mains transformer; its windings are the rows of its block.",
  example: "transformer T1 80VA { primary 230V 14R { live inN }, heater 6.3V 4A { h1 h2 } }",
  terminals: [],
  rows: ["primary"],
  path: false,
  facts: {
    numbers: [{ field: "voltAmperes", unit: "voltampere", what: "rating", example: "80VA", most: 1e6 }],
    words: {
      toroidal: { field: "core", value: "toroidal", description: "A toroidal core: more inrush." },
      toroid: { field: "core", value: "toroidal", description: "A toroidal core: more inrush." },
    },
  },
  limits: ["VA", "rms current of each winding"],
  wire: wireRows,
  terminalKey: rowKey,
  terminalNames: (raw) => [...raw.wiring.keys()],
  build(building) {
    const { base, facts, raw } = building;
    let primary: WrittenWinding | undefined;
    const secondaries: WrittenWinding[] = [];
    const seen = new Set<string>();
    for (const item of raw.items) {
      if (item.node !== "row" || seen.has(item.name.text)) continue;
      seen.add(item.name.text);
      const isPrimary = item.name.text === "primary";
      const winding = readWinding(building, item, isPrimary);
      if (!winding) continue;
      if (isPrimary) primary = winding;
      else secondaries.push(winding);
    }
    if (!primary) tellPrimary(building);
    const voltAmperes = facts.numbers.voltAmperes;
    return made<Transformer>(base, {
      kind: "transformer",
      voltAmperes,
      ...withCopper(primary, secondaries, voltAmperes?.value),
    });
  },
};

/** Winding rows give keys `ht.1`, `ht.2` in the order of their nets. */
export function wireRows(raw: RawPart, problems: Problems): void {
  const seen = new Map<string, { readonly start: number; readonly end: number }>();
  for (const item of raw.items) {
    if (item.node === "terminal") {
      problems.push(
        problem(
          "circuit/unknown-terminal",
          `${raw.reference}: a winding is written with its volts and its nets in braces, such as ${item.terminal.text} 6.3V { ${item.nets[0]?.text ?? "a"} b }.`,
          raw.scope.file,
          item.terminal.range,
          [raw.reference],
        ),
      );
      continue;
    }
    const { text, range } = item.name;
    const before = seen.get(text);
    if (before) {
      problems.push(
        problem(
          "circuit/duplicate-reference",
          `${raw.reference} has a winding called ${text} already.`,
          raw.scope.file,
          range,
          [raw.reference],
          {
            related: [
              { message: "the first one", place: { file: raw.scope.file, range: before }, on: raw.reference },
            ],
          },
        ),
      );
      continue;
    }
    seen.set(text, range);
    item.nets.forEach((word, index) => {
      wireOne(raw, `${text}.${index + 1}`, item.name, word, problems);
    });
  }
}

/** `["ht", "1"]` where that winding has a first net. */
export function rowKey(raw: RawPart, pieces: readonly string[]): string | undefined {
  const key = pieces.join(".");
  return raw.wiring.has(key) ? key : undefined;
}

function tellPrimary(building: Building): void {
  const { raw, problems } = building;
  for (const item of raw.items) {
    if (item.node !== "row") continue;
    if (nearNames(item.name.text, ["primary"]).length === 0 && item.name.text !== "prim") continue;
    problems.push(
      problem(
        "circuit/unknown-terminal",
        `${raw.reference}: ${item.name.text} is taken for a secondary. The winding on the mains is called primary.`,
        raw.scope.file,
        item.name.range,
        [raw.reference],
        { fix: { title: "Write primary", place: building.place(item.name.range), text: "primary" } },
      ),
    );
    return;
  }
}
