/** Nets that stand at direct volts, apart from those that alternate. */
import type { NetIndex } from "../../circuit/model.ts";
import type { Solution } from "../../physics/results.ts";

/** A net of a winding alternates: an ac rating is the right one there. False where nothing fixes the net. */
export function isDirect(solution: Solution, net: NetIndex): boolean {
  const volts = solution.volts[net];
  return !Number.isNaN(volts) && !(solution.rms[net] > 0.3 * Math.abs(volts) && solution.rms[net] > 20);
}
