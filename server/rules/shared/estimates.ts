/** Windings whose resistance the file does not give: every figure of their supply rests on a guess at it. */

import { KeptWith } from "../../circuit/kept-with.ts";
import type { Circuit, Winding } from "../../circuit/model.ts";
import type { Related } from "../rule.ts";

const isEstimate = (winding: Winding | undefined): boolean => winding?.ohms.origin === "estimate";

const known = new KeptWith<Circuit, readonly Related[]>();

/** A related place for each estimated winding of the high tension, for findings on volts and currents behind it. */
export function estimatedSupplies(circuit: Circuit): readonly Related[] {
  let found = known.get(circuit);
  if (!found) {
    found = findEstimated(circuit);
    known.set(circuit, found);
  }
  return found;
}

function findEstimated(circuit: Circuit): readonly Related[] {
  const found: Related[] = [];
  for (const part of circuit.parts) {
    if (part.kind !== "transformer") continue;
    // A bias winding's copper moves no high tension.
    const most = Math.max(...part.secondaries.map((winding) => winding.volts.value));
    for (const winding of part.secondaries) {
      if (winding.volts.value < Math.max(60, most / 2) || !(isEstimate(winding) || isEstimate(part.primary)))
        continue;
      found.push({
        on: `${part.reference}.${winding.name}`,
        message: `the resistance of ${part.reference}'s windings is estimated, and this rests on it: measure and write it`,
        place: winding.place,
      });
    }
  }
  return found;
}
