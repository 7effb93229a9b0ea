import { capacitorTolerance } from "../facts/resistors.ts";
import { assumed } from "../fact-reader.ts";
import { baseOf, type KindDefinition } from "../kind.ts";

const materials = ["film", "paper", "ceramic", "mica", "electrolytic"] as const;
const classes = ["X1", "X2", "X3", "Y1", "Y2", "Y3", "Y4"] as const;

export const capacitor: KindDefinition = {
  kind: "capacitor",
  help: "A capacitor: farads, volts, kind; an electrolytic's plus comes first. X and Y classes for the mains side.",
  path: ["a", "b"],
  terminals: ["a", "b", "plus", "minus"],
  aliases: { "+": "plus", "-": "minus" },
  words: [...materials, ...classes, "polarised", "non-polarised", "bipolar"],
  facts: [
    { example: "22n", what: "capacitance", required: true },
    { example: "400V", what: "rated direct volts" },
    { example: "275VAC", what: "rated alternating volts" },
    { example: "film", what: materials.join(", ") },
    { example: "X2", what: "mains class X1, X2, Y1, Y2" },
    { example: "surge 550V", what: "surge voltage" },
    { example: "ripple 300mA", what: "rated ripple current" },
    { example: "10%", what: "tolerance" },
  ],
  limits: ["voltage", "reverse voltage", "ripple"],
  build(draft) {
    const { facts } = draft;
    const farads = facts.quantity("farads", { units: ["farad", "none"], range: [1e-14, 10] });
    const volts = facts.quantity("volts", { units: ["volt"], alternating: false, range: [1, 100_000] });
    const voltsAlternating = facts.quantity("voltsAlternating", { units: ["volt"], alternating: true, range: [1, 10_000] });
    const surgeVolts = facts.quantity("surgeVolts", { units: ["volt"], label: "surge", range: [1, 100_000] });
    const rippleAmps = facts.quantity("rippleAmps", { units: ["ampere"], label: "ripple", range: [1e-6, 1000] });
    facts.quantity("esr", { units: ["ohm", "none"], label: "esr" });
    const percent = facts.quantity("tolerance", { units: ["percent"], range: [0, 300] });
    const material = facts.word("material", materials);
    const safetyClass = facts.word("safetyClass", classes);
    const polarity = facts.word("polarity", ["polarised", "non-polarised", "bipolar"]);
    facts.finish(capacitor.words);
    if (farads === undefined) {
      draft.problem("circuit/missing-value", `${facts.subject} has no capacitance: write it in farads, such as 22n.`, draft.referencePlace, [draft.reference]);
      return undefined;
    }
    const standard = capacitorTolerance[material ?? "unknown"];
    const polarised = polarity === "polarised" || (material === "electrolytic" && polarity === undefined);
    const base = baseOf(draft);
    return {
      ...base,
      terminals: renamed(base.terminals, polarised),
      terminalPlaces: renamed(base.terminalPlaces, polarised),
      kind: "capacitor",
      farads,
      ...(volts ? { volts } : {}),
      ...(voltsAlternating ? { voltsAlternating } : {}),
      ...(surgeVolts ? { surgeVolts } : {}),
      ...(rippleAmps ? { rippleAmps } : {}),
      ...(material ? { material } : {}),
      ...(safetyClass ? { safetyClass } : {}),
      tolerance: percent ? { ...percent, value: percent.value / 100 } : assumed(standard.value, "default", standard.source),
      polarised,
    };
  },
};

/** A polarised one has plus and minus, another a and b, whichever words were written. */
function renamed<T>(terminals: ReadonlyMap<string, T>, polarised: boolean): ReadonlyMap<string, T> {
  const [first, second] = polarised ? ["plus", "minus"] : ["a", "b"];
  const named = new Map<string, T>();
  for (const [name, value] of terminals) named.set(name === "a" || name === "plus" ? first : second, value);
  return named;
}
