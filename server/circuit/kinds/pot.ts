import { potTolerance } from "../../facts/tolerances.ts";
import type { Pot } from "../model.ts";
import { byDefault, made, ohms, openOhms, required, tolerance, volts, watts } from "./common.ts";
import type { KindSpec } from "./kind.ts";

export const pot: KindSpec = {
  kind: "pot",
  description: "A potentiometer, or a preset: a track with a wiper.",
  example: "pot R7 1M audio 0.25W { top: vol, wiper: g2, bottom: gnd }",
  terminals: [
    { name: "top", aliases: ["hot", "1"], description: "the end that the wiper reaches fully up" },
    { name: "wiper", aliases: ["2"], description: "the moving contact" },
    { name: "bottom", aliases: ["3"], description: "the end that the wiper reaches fully down" },
  ],
  path: false,
  facts: {
    numbers: [
      { ...ohms, required: true },
      watts,
      { ...volts, what: "working voltage", example: "250V" },
      {
        field: "setting",
        unit: "percent",
        what: "setting (the share of the resistance between wiper and bottom)",
        example: "at 40%",
        labels: ["at"],
        labelled: true,
        scale: 0.01,
        zero: true,
        most: 1,
      },
      tolerance,
    ],
    words: {
      audio: { field: "taper", value: "audio", description: "Logarithmic taper." },
      log: { field: "taper", value: "audio", description: "Logarithmic taper." },
      lin: { field: "taper", value: "lin", description: "Linear taper." },
      linear: { field: "taper", value: "lin", description: "Linear taper." },
      reverse: { field: "taper", value: "reverse", description: "Reversed logarithmic taper." },
      "reverse-audio": { field: "taper", value: "reverse", description: "Reversed logarithmic taper." },
      "reverse-log": { field: "taper", value: "reverse", description: "Reversed logarithmic taper." },
      wirewound: { field: "track", value: "wirewound", description: "A track of wire." },
    },
  },
  limits: ["power of the track"],
  build(building) {
    const { base, facts } = building;
    return made<Pot>(base, {
      kind: "pot",
      ohms: required(building, "ohms", "resistance", "1M", openOhms, "taken as open"),
      watts: facts.numbers.watts,
      volts: facts.numbers.volts,
      tolerance: facts.numbers.tolerance ?? byDefault(potTolerance),
      taper: facts.words.taper,
      setting: facts.numbers.setting ?? {
        value: 0.5,
        origin: "default",
        source: "half way where the file gives no setting",
      },
    });
  },
};
