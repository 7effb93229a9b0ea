/** Types that are another but for their heater or their base, as files of their own. */
import type { ValveFile } from "./file.ts";

/** The files, and behind them those that they hold of other heaters and of other bases. */
export function withVariants(files: readonly ValveFile[]): readonly ValveFile[] {
  return [...files, ...files.flatMap((file) => [...otherHeaters(file), ...otherBases(file)])];
}

type Named = { readonly type: string; readonly equivalents?: ValveFile["equivalents"] };

/** What is the same in every variant; limits that a name has of its own go with that name. */
function alike(file: ValveFile, { type, equivalents = [] }: Named): ValveFile {
  const names = [type, ...equivalents.map((equivalent) => equivalent.name)];
  return {
    ...file,
    type,
    equivalents,
    other_heaters: undefined,
    other_bases: undefined,
    limits_other: file.limits_other?.filter(
      (block) => block.for?.some((name) => names.includes(name)) ?? true,
    ),
    law_of: file.type,
  };
}

function otherHeaters(file: ValveFile): ValveFile[] {
  return (file.other_heaters ?? []).map((other) => ({
    ...alike(file, other),
    heater: other.heater,
    limits: other.limits ?? file.limits,
  }));
}

function otherBases(file: ValveFile): ValveFile[] {
  return (file.other_bases ?? []).map((other) => ({
    ...alike(file, other),
    base: other.base,
    heater: other.heater ?? file.heater,
    limits: other.limits ?? file.limits,
    sections: file.sections.map((section, index) => ({
      ...section,
      // Pins that aren't held are not those of the other base: nothing is said of them.
      pins:
        other.pins?.[index] ??
        Object.fromEntries(Object.keys(section.pins).map((electrode) => [electrode, "–"])),
    })),
    other_pins: other.other_pins,
    pinout_evidence: other.pinout_evidence,
    pinout_note: undefined,
  }));
}
