import { nearNames } from "../../../grammar/near.ts";
import {
  directFactor,
  noLoadRise,
  noLoadRiseAt,
  primaryCopperShare,
  unknownVoltAmperes,
} from "../../facts/transformers.ts";
import type { Given, Transformer, Winding } from "../model.ts";
import { type Problems, problem } from "../problems.ts";
import { wireOne } from "../wire.ts";
import { estimated, made } from "./common.ts";
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

/** Resistances where the file gives none, from the size of the transformer: estimates. */
function withCopper(
  primary: WrittenWinding | undefined,
  secondaries: readonly WrittenWinding[],
  given: number | undefined,
): Pick<Transformer, "primary" | "secondaries"> {
  const rms = (winding: WrittenWinding): number | undefined => {
    const amps = winding.amps?.value;
    if (amps === undefined || !winding.direct) return amps;
    return amps * (winding.centreTapped ? directFactor.centreTapped : directFactor.whole).value;
  };
  // Each half of a centre-tapped winding carries its current for half of the time: together the VA of both over root two.
  const ownVoltAmperes = (winding: WrittenWinding): number | undefined => {
    const amps = rms(winding);
    if (amps === undefined) return undefined;
    return (winding.volts.value * amps) / (winding.centreTapped ? Math.SQRT2 : 1);
  };
  const known = secondaries.reduce((sum, winding) => sum + (ownVoltAmperes(winding) ?? 0), 0);
  const unknown = secondaries.filter((winding) => ownVoltAmperes(winding) === undefined).length;
  const whole = given ?? (known > 0 ? known : unknownVoltAmperes.value);
  const rise = noLoadRiseAt(whole);
  const basis =
    given !== undefined
      ? `${given} VA`
      : known > 0
        ? `about ${Math.round(whole)} VA, its windings' ratings together`
        : `${unknownVoltAmperes.value} VA taken, since it gives none`;
  const source = `estimated from ${basis}; ${noLoadRise.source}`;
  const finish = (winding: WrittenWinding, ohms: number): Winding => {
    const estimate: Given = estimated(Number.isFinite(ohms) && ohms > 0 ? ohms : 0, source);
    return Object.assign({}, winding, { ohms: winding.ohms ?? estimate });
  };
  const primaryRise = rise * primaryCopperShare.value;
  return {
    primary: primary && finish(primary, (primaryRise * primary.volts.value ** 2) / whole),
    secondaries: secondaries.map((winding) => {
      // A winding without a current gets an even share of what the others leave, a tenth of the whole at least.
      const share = Math.max((whole - known) / Math.max(unknown, 1), whole / 10);
      const amps = rms(winding) ?? share / winding.volts.value;
      return finish(winding, ((rise - primaryRise) * winding.volts.value) / amps);
    }),
  };
}
