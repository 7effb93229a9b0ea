/** Windings whose resistance the file does not give: every figure of their supply rests on a guess at it. */
import type { Circuit, Winding } from "../../circuit/model.ts";
import type { Related } from "../rule.ts";

const isEstimate = (winding: Winding | undefined): boolean => winding?.ohms.origin === "estimate";

/** A related place for each estimated winding of the high tension, for findings on volts and currents behind it. */
export function estimatedSupplies(circuit: Circuit): readonly Related[] {
  const found: Related[] = [];
  for (const part of circuit.parts) {
    if (part.kind !== "transformer") continue;
    for (const winding of part.secondaries) {
      if (winding.volts.value < 60 || !(isEstimate(winding) || isEstimate(part.primary))) continue;
      found.push({
        on: `${part.reference}.${winding.name}`,
        message: `the resistance of ${part.reference}'s windings is estimated, and this rests on it: measure and write it`,
        place: winding.place,
      });
    }
  }
  return found;
}
