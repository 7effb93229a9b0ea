/** The circuit as it is while one of its switches, closed as the file has it, is held open: solved as its standby. */

import { KeptWith } from "../circuit/kept-with.ts";
import type { Circuit, Part, Switch } from "../circuit/model.ts";
import { analyse } from "./analyse.ts";
import type { Analysis } from "./results.ts";

/** No switch with this duty opens in any state. */
const NO_DUTY = "closed";

const kept = new KeptWith<Circuit, Map<string, Analysis>>();

/** @returns an analysis whose `standby` has that switch open, and every other as it stands with everything warm */
export function openedAnalysis(circuit: Circuit, opened: Switch): Analysis {
  const own = kept.get(circuit) ?? new Map<string, Analysis>();
  kept.set(circuit, own);
  let analysis = own.get(opened.reference);
  if (!analysis) {
    const parts = circuit.parts.map((part): Part => {
      if (part.kind !== "switch") return part;
      if (part.reference === opened.reference) return { ...part, duty: "standby" };
      return part.duty === "standby" ? { ...part, duty: NO_DUTY } : part;
    });
    analysis = analyse({
      ...circuit,
      parts,
      partByReference: new Map(parts.map((part) => [part.reference, part])),
    });
    own.set(opened.reference, analysis);
  }
  return analysis;
}
