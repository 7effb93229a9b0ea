import { potTolerance, potVolts } from "../facts/resistors.ts";
import { assumed } from "../fact-reader.ts";
import { baseOf, type KindDefinition } from "../kind.ts";

const tapers = ["audio", "log", "lin", "linear", "reverse-log", "reverse-audio"] as const;

export const pot: KindDefinition = {
  kind: "pot",
  help: "A potentiometer: top, wiper, bottom. `at 40%` is the resistance between wiper and bottom as a share; half when left out.",
  path: [],
  terminals: ["top", "wiper", "bottom"],
  aliases: { a: "top", b: "bottom", slider: "wiper" },
  words: tapers,
  facts: [
    { example: "1M", what: "resistance, end to end", required: true },
    { example: "audio", what: tapers.join(", ") },
    { example: "0.25W", what: "rated dissipation of the whole track" },
    { example: "at 40%", what: "setting: wiper to bottom" },
    { example: "350V", what: "working voltage" },
  ],
  limits: ["power", "voltage"],
  build(draft) {
    const { facts } = draft;
    const ohms = facts.quantity("ohms", { units: ["ohm", "none"], range: [0.1, 1e9] });
    const watts = facts.quantity("watts", { units: ["watt"], range: [0.001, 1000] });
    const volts = facts.quantity("volts", { units: ["volt"], range: [1, 10_000] });
    const setting = facts.quantity("setting", { units: ["percent"], label: "at", range: [0, 100] });
    const percent = facts.quantity("tolerance", { units: ["percent"], range: [0, 100] });
    const taper = facts.word("taper", tapers);
    facts.finish(tapers);
    if (ohms === undefined) {
      draft.problem("circuit/missing-value", `${facts.subject} has no resistance: write it in ohms, such as 1M.`, draft.referencePlace, [draft.reference]);
      return undefined;
    }
    return {
      ...baseOf(draft),
      kind: "pot",
      ohms,
      ...(watts ? { watts } : {}),
      volts: volts ?? assumed(potVolts.value, "default", potVolts.source),
      tolerance: percent ? { ...percent, value: percent.value / 100 } : assumed(potTolerance.value, "default", potTolerance.source),
      ...(taper ? { taper } : {}),
      setting: setting ? { ...setting, value: setting.value / 100 } : assumed(0.5, "default", "half way when the file says nothing"),
    };
  },
};
