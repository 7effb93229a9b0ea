/** Silicon rectifiers of a circuit, one entry for each that conducts by itself: a bridge has four. */
import type { Circuit, Part } from "../../circuit/model.ts";
import { bookOf } from "../../facts/valves/book.ts";
import type { ValveLimits } from "../../facts/valves/index.ts";
import { partsOf } from "../frame/index.ts";

export interface SiliconDiode {
  readonly part: Extract<Part, { kind: "diode" | "bridge" }>;
  /** Keys of its readings: `D1`, or `BR1.1` to `BR1.4`. */
  readonly keys: readonly string[];
  readonly limits?: ValveLimits;
}

export function siliconDiodes(circuit: Circuit): readonly SiliconDiode[] {
  return partsOf(circuit, "diode", "bridge").map((part) => ({
    part,
    keys: part.kind === "bridge" ? [1, 2, 3, 4].map((arm) => `${part.reference}.${arm}`) : [part.reference],
    limits: part.type === undefined ? undefined : bookOf(circuit).findSemiconductor(part.type)?.limits,
  }));
}
