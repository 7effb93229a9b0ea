/** The parameters of a user's own types, from the points that they give. */
import type { ValveFile } from "../../../facts/valves/file.ts";
import type { FitsFile } from "../../../facts/valves/fit-file.ts";
import { fitType } from "./fit.ts";

/**
 * @param published the file of a published type, for a section that is said to be like it
 * @param others own types that a section may be said to be like, before the published ones
 * @returns nothing for a type that states its law, is no amplifying valve, or gives too few points
 */
export function fitsOf(
  own: readonly ValveFile[],
  published: (type: string) => ValveFile | undefined,
  others: readonly ValveFile[] = own,
): FitsFile {
  const find = (type: string) => others.find((file) => file.type === type) ?? published(type);
  const fits: Record<string, FitsFile[string]> = {};
  for (const file of own) {
    if (file.law || file.law_of) continue;
    const sections = Object.entries(fitType(file, find) ?? {});
    if (sections.length > 0)
      fits[file.type] = Object.fromEntries(sections.map(([name, { parameters }]) => [name, parameters]));
  }
  return fits;
}
