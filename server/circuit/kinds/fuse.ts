import type { Fuse } from "../model.ts";
import { amps, made, tellMissing, volts } from "./common.ts";
import type { KindSpec } from "./kind.ts";

export const fuse: KindSpec = {
  kind: "fuse",
  description: "A fuse in its holder: tip on the left of a path.",
  example: "inA -- fuse F1 T500mA 250V -- fused",
  terminals: [
    {
      name: "tip",
      aliases: ["a", "1", "end"],
      description: "the far contact, where the incoming active belongs",
    },
    { name: "ring", aliases: ["b", "2", "side"], description: "the side contact, which a finger can reach" },
  ],
  path: true,
  facts: {
    numbers: [
      { ...amps, what: "current", example: "T500mA", required: true },
      { ...volts, example: "250V" },
      { ...volts, alternating: true, example: "250VAC" },
    ],
    words: {
      L: { field: "breaking", value: "L", description: "Low breaking capacity: glass." },
      H: { field: "breaking", value: "H", description: "High breaking capacity: ceramic, sand-filled." },
      FF: { field: "character", value: "FF", description: "Very quick-acting." },
      F: { field: "character", value: "F", description: "Quick-acting." },
      M: { field: "character", value: "M", description: "Medium time-lag." },
      T: { field: "character", value: "T", description: "Time-lag." },
      TT: { field: "character", value: "TT", description: "Long time-lag." },
    },
    fuse: true,
  },
  limits: ["current", "voltage"],
  build(building) {
    const { base, facts } = building;
    const given = facts.fuse
      ? { value: facts.fuse.amps, origin: "file" as const, place: facts.fuse.place }
      : facts.numbers.amps;
    if (!given) tellMissing(building, "current", "T500mA 250V");
    return made<Fuse>(base, {
      kind: "fuse",
      // Not a number: nothing can be held against a rating that is not written.
      amps: given ?? {
        value: Number.NaN,
        origin: "estimate",
        source: `${building.raw.reference} has no current`,
      },
      character: facts.fuse?.letter ?? facts.words.character,
      volts: facts.numbers.volts,
      breaking: facts.words.breaking as Fuse["breaking"],
    });
  },
};
