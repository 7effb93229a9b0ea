/** What stands behind a part of the mains side: the primaries that lose the mains when it opens. */
import type { Part } from "../../circuit/model.ts";
import { arrival, type MainsSide, type Primary, reach } from "./graph.ts";

/** Primaries that the active (or the neutral) comes to only through this part. */
export function servedBy(side: MainsSide, part: Part): Primary[] {
  const served = new Set<Primary>();
  for (const from of [side.active, side.neutral]) {
    const whole = reach(side, from);
    const parted = reach(side, from, { without: part });
    for (const primary of side.primaries) {
      if (arrival(whole, primary) !== undefined && arrival(parted, primary) === undefined)
        served.add(primary);
    }
  }
  return side.primaries.filter((primary) => served.has(primary));
}
