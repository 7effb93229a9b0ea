import type { Part } from "../../circuit/model.ts";
import { bookOf, type ValveBook } from "../../facts/valves/book.ts";
import { finding, listed } from "../frame/index.ts";
import type { Rule } from "../rule.ts";

export const unconnected: Rule = {
  id: "circuit/unconnected",
  severity: "warning",
  sentence: "A part has a terminal that the file wires to nothing.",
  why: "What is left out of the file is left out of the circuit: the part does nothing there, and on the bench it does something.",
  source: "common practice",
  quiet:
    "Quiet on the third terminal of a pot used as a variable resistor, unused plates of a rectifier, break contacts of " +
    "jacks, unused throws, suppressors, a grid (valve/grid-open tells that), a terminal whose word is misspelt (circuit/unknown-terminal tells that), and sections that are not written at all.",
  bad: `amp "One end in the air"
source B1 300V { plus: HT1, minus: gnd }
HT1 -- resistor R1 470k 1W 500V -- gnd
resistor R2 470k 1W 500V { a: HT1 }
`,
  good: `amp "Both ends wired"
source B1 300V { plus: HT1, minus: gnd }
HT1 -- resistor R1 470k 1W 500V -- gnd
resistor R2 470k 1W 500V { a: HT1, b: gnd }
`,
  *check(context) {
    const book = bookOf(context.circuit);
    const misnamed = new Set(
      context.circuit.problems.flatMap(({ rule, on }) => (rule === "circuit/unknown-terminal" ? on : [])),
    );
    for (const part of context.circuit.parts) {
      yield;
      const open = openTerminals(part, book);
      context.checked(part.reference);
      if (open.length === 0 || misnamed.has(part.reference)) continue;
      yield finding(unconnected, {
        message:
          `${part.reference} has its ${listed(open)} wired to nothing. Write ${open.length > 1 ? "their nets" : "its net"}, ` +
          "or take the part out.",
        on: [part.reference],
        place: part.referencePlace,
      });
    }
  },
};

/** Terminals that the part cannot do without and the file leaves out. */
function openTerminals(part: Part, book: ValveBook): readonly string[] {
  const missing = (...names: readonly string[]) => names.filter((name) => !part.terminals.has(name));
  switch (part.kind) {
    case "resistor":
    case "thermistor":
    case "choke":
    case "lamp":
    case "speaker":
    case "wire":
    case "bond":
      return missing("a", "b");
    case "capacitor":
      return part.polarised ? missing("plus", "minus") : missing("a", "b");
    case "diode":
    case "zener":
      return missing("anode", "cathode");
    case "fuse":
      return missing("tip", "ring");
    case "source":
      return missing("plus", "minus");
    case "bridge":
      return missing("ac1", "ac2", "plus", "minus");
    case "pot":
      return part.terminals.size >= 2 ? [] : missing("top", "wiper", "bottom");
    case "jack":
      return missing("tip", "sleeve");
    case "cord":
    case "inlet":
      return (["active", "neutral"] as const).filter((role) => !part.leads.has(role));
    case "switch":
      return part.poles.flatMap((pole) => {
        const name = pole.name ? ` of pole ${pole.name}` : "";
        if (pole.common === undefined) return [`common${name}`];
        return pole.throws.size === 0 ? [`throws${name}`] : [];
      });
    case "output-transformer":
      return part.plates ? [] : ["plates"];
    case "valve":
      return openElectrodes(part, book);
    default:
      return [];
  }
}

function openElectrodes(part: Extract<Part, { kind: "valve" }>, book: ValveBook): string[] {
  const facts = part.type === undefined ? undefined : book.find(part.type);
  if (!facts) return [];
  return part.sections.flatMap((section) => {
    const has = (name: string) => section.electrodes.has(name);
    const at = section.name ? ` of section ${section.name}` : "";
    const open: string[] = [];
    if (!has("cathode")) open.push(`cathode${at}`);
    if (facts.kind === "rectifier") {
      if (!has("plate") && !has("plate1") && !has("plate2")) open.push(`plates${at}`);
      return open;
    }
    if (!has("plate")) open.push(`plate${at}`);
    const made = facts.sections.find(({ name }) => name === section.name);
    if (made?.electrodes.includes("screen") && !has("screen")) open.push(`screen${at}`);
    return open;
  });
}
