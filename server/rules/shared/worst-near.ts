/** The worst of a reading, its tolerance band worked out only where it may decide. */

import type { ValveLimits } from "../../facts/valves/index.ts";
import type { Analysis, Band, ReadingName, Solution, StateName } from "../../physics/results.ts";
import { type Where, type Worst, widest, worstOfStates, worstReading } from "../frame/index.ts";
import { whereOf } from "./sections.ts";

/** A nominal figure below this share of the limit stays inside it whatever the parts do. */
const FAR = 0.6;
/** Solutions this close to the worst nominal one may be the worst with tolerances. */
const CLOSE = 0.85;

/**
 * Like `worst`, but a figure that is nowhere near `bound` is given with nominal parts: a band costs a solve of its own, and an
 * amplifier has hundreds of figures that are a tenth of their limit.
 */
export function worstNear(
  analysis: Analysis,
  key: string,
  reading: ReadingName,
  bound: number | undefined,
  where: Where = {},
): Worst | undefined {
  return worstReading(analysis, key, reading, where, tellsFrom(bound), CLOSE);
}

/** Below this the figure stays inside its limit whatever the parts do. */
const tellsFrom = (bound: number | undefined): number => (bound === undefined ? 0 : FAR * bound);

/** The same of any figure that can be had from a solution. */
export function worstOfNear(
  analysis: Analysis,
  where: Where,
  bound: number | undefined,
  nominalOf: (solution: Solution) => number | undefined,
  bandOf: (solution: Solution) => Band | undefined,
  key?: string,
): Worst | undefined {
  const states = worstOfStates(analysis, where, nominalOf);
  const nominal = widest(where, states, undefined, key);
  if (!nominal || where.tolerance === "nominal") return nominal;
  const size = Math.abs(nominal.value);
  if (size < tellsFrom(bound)) return nominal;
  return widest(
    where,
    states,
    (solution) => (Math.abs(nominalOf(solution) ?? 0) < CLOSE * size ? undefined : bandOf(solution)),
    key,
  );
}

/**
 * The worst of a valve's own reading as its limit's rating system asks (`whereOf`): for a design-maximum limit the valve itself is
 * an average one, for an absolute one its own spread counts as well.
 */
export function worstRated(
  analysis: Analysis,
  valve: string,
  key: string,
  reading: ReadingName,
  bound: { readonly value: number; readonly block: ValveLimits },
  states?: Where["states"],
): Worst | undefined {
  const average = bound.block.ratingSystem === "absolute" ? undefined : valve;
  const where = states ? within(whereOf(bound.block), states) : whereOf(bound.block);
  return worstReading(analysis, key, reading, where, tellsFrom(bound.value), CLOSE, average);
}

const narrowed = new WeakMap<Where, WeakMap<readonly StateName[], Where>>();

/** The same in some states alone. Both are few, and asked for again and again. */
function within(where: Where, states: readonly StateName[]): Where {
  let byStates = narrowed.get(where);
  if (!byStates) {
    byStates = new WeakMap();
    narrowed.set(where, byStates);
  }
  let found = byStates.get(states);
  if (!found) {
    found = { ...where, states };
    byStates.set(states, found);
  }
  return found;
}

/** The valve that a limit takes as average: itself, but for an absolute limit. */
export const averageOf = (
  section: { readonly valve: { readonly reference: string } },
  bound: { readonly block: ValveLimits },
): string | undefined => (bound.block.ratingSystem === "absolute" ? undefined : section.valve.reference);
