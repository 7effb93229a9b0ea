import type { Measurement } from "../../circuit/model.ts";
import { type Figure, safetyTest } from "../../facts/mains.ts";
import { limit, listed } from "../frame/index.ts";
import { MAINS_CAUTION } from "../mains/caution.ts";
import { example } from "../mains/example.ts";
import type { Rule } from "../rule.ts";
import { protectivePath } from "./path.ts";

export const record: Rule = {
  id: "earth/record",
  severity: "error",
  sentence: "A measured continuity, insulation or leakage is outside the safety test's limits.",
  why: "The safety test is the last look at the amplifier before someone holds its strings. A reading outside is not let go.",
  source: "AS/NZS 3760; EN 50699 and the British code of practice, from memory",
  quiet: "Readings that are not in the file are told as unchecked, once per cord or inlet.",
  caution: MAINS_CAUTION,
  bad: example({
    name: "Poor earth",
    rest: `h1 -- lamp LP1 6.3V 5A -- gnd
measured earth-continuity 1.8R`,
  }),
  good: example({
    name: "Good earth",
    rest: `h1 -- lamp LP1 6.3V 5A -- gnd
measured earth-continuity 0.08R
measured insulation 250M at 500V
measured earth-leakage 0.4mA`,
  }),
  *check(context) {
    const { circuit } = context;
    const { region } = circuit.mains;
    const taken = new Set<string>();
    for (const reading of circuit.measurements) {
      yield;
      const held = heldAgainst(reading);
      if (!held) continue;
      taken.add(reading.target.kind);
      const figure = held.figure;
      const found = limit(context, record, {
        on: reading.target.kind,
        place: reading.valuePlace,
        says: held.says,
        value: reading.value,
        limit: figure.value,
        limitIs: held.breach === "below" ? "at least" : "at most",
        breach: held.breach,
        unit: held.unit,
        todo: held.todo,
        source: figure.source,
      });
      if (found) yield found;
    }
    const [entry] = protectivePath(circuit)?.entries ?? [];
    if (!entry) return;
    const words = {
      "earth-continuity": "earth continuity",
      insulation: "insulation",
      "earth-leakage": "earth leakage",
    };
    const open = Object.entries(words).flatMap(([kind, word]) => (taken.has(kind) ? [] : [word]));
    if (open.length > 0) {
      context.unchecked(entry.reference, `the safety record (${listed(open)} not measured)`, entry.place);
    }

    function heldAgainst(
      reading: Measurement,
    ):
      | { figure: Figure; says: string; unit: "Ω" | "A"; breach: "above" | "below"; todo: string }
      | undefined {
      switch (reading.target.kind) {
        case "earth-continuity":
          return {
            figure: safetyTest.continuity(region),
            says: "Earth continuity measures",
            unit: "Ω",
            breach: "above",
            todo: "Clean and tighten the earth's fixing, look at the cord and its plug, and measure again.",
          };
        case "insulation":
          return {
            figure: safetyTest.insulation,
            says: `Insulation to the metal measures`,
            unit: "Ω",
            breach: "below",
            todo: "Unplug, find what leaks (transformer, capacitors to the metal, damp wiring), and measure again.",
          };
        case "earth-leakage":
          return {
            figure: safetyTest.leakage(region),
            says: "Earth leakage measures",
            unit: "A",
            breach: "above",
            todo: "Look for capacitors from the mains to the metal and for damp or charred insulation.",
          };
        default:
          return undefined;
      }
    }
  },
};
