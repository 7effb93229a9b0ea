import { z } from "zod";
import { resistorTolerance, resistorWorkingVolts } from "../facts/resistors.ts";
import { assumed } from "../fact-reader.ts";
import { baseOf, type KindDefinition } from "../kind.ts";
import type { ResistorMaterial } from "../../model.ts";

export const resistorMaterials = ["carbon-composition", "carbon-film", "metal-film", "metal-oxide", "wirewound"] as const;
/** Ohms from a dead short to a very leaky insulator. */
export const resistance = z.number().min(0).max(1e12);

export const resistor: KindDefinition = {
  kind: "resistor",
  help: "A resistor: ohms, watts, kind, tolerance; its body's working voltage where the maker gives one.",
  path: ["a", "b"],
  terminals: ["a", "b"],
  words: resistorMaterials,
  facts: [
    { example: "100k", what: "resistance", required: true },
    { example: "1W", what: "rated dissipation at 70 °C" },
    { example: "350V", what: "working voltage of the body" },
    { example: "5%", what: "tolerance" },
    { example: "metal-film", what: resistorMaterials.join(", ") },
  ],
  limits: ["power", "voltage"],
  build(draft) {
    const { facts } = draft;
    const ohms = facts.quantity("ohms", { units: ["ohm", "none"], range: [1e-4, 1e12] }) ?? zero(draft);
    const watts = facts.quantity("watts", { units: ["watt"], range: [0.001, 10_000] });
    const volts = facts.quantity("volts", { units: ["volt"], range: [0.1, 100_000] });
    const percent = facts.quantity("tolerance", { units: ["percent"], range: [0, 100] });
    const material = facts.word<ResistorMaterial>("material", resistorMaterials);
    facts.finish(resistorMaterials);
    if (ohms === undefined) {
      draft.problem("circuit/missing-value", `${facts.subject} has no resistance: write it in ohms, such as 100k.`, draft.referencePlace, [draft.reference]);
      return undefined;
    }
    const standard = resistorTolerance(material);
    const body = volts ?? bodyVolts(watts?.value, material);
    return {
      ...baseOf(draft),
      kind: "resistor",
      ohms,
      ...(watts ? { watts } : {}),
      ...(body ? { volts: body } : {}),
      tolerance: percent ? { ...percent, value: percent.value / 100 } : assumed(standard.value, "default", standard.source),
      ...(material ? { material } : {}),
    };
  },
};

function bodyVolts(watts: number | undefined, material: ResistorMaterial | undefined) {
  const found = resistorWorkingVolts(watts, material);
  return found && assumed(found.value, "default", found.source);
}

/** `0R` is a link, not a slip. */
function zero(draft: Parameters<KindDefinition["build"]>[0]) {
  return draft.facts.quantity("ohms", { units: ["ohm", "none"], range: [0, 0] });
}
