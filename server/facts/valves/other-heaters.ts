/** Types that are another but for their heater, as files of their own. */
import type { ValveFile } from "./file.ts";

/** The files, and behind them those that they hold of other heaters. */
export function withOtherHeaters(files: readonly ValveFile[]): readonly ValveFile[] {
  return [...files, ...files.flatMap(otherHeaters)];
}

function otherHeaters(file: ValveFile): ValveFile[] {
  return (file.other_heaters ?? []).map(({ type, equivalents, heater, limits }) => ({
    ...file,
    type,
    equivalents: equivalents ?? [],
    heater,
    limits: limits ?? file.limits,
    other_heaters: undefined,
    // Limits that a name of the other type has of its own are not this one's.
    limits_other: file.limits_other?.filter((block) => block.for === undefined),
    law_of: file.type,
  }));
}
