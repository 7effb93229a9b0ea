/** Types that are another but for their heater, their base, or a rectifier diode's inverse volts, as files of their own. */
import type { ValveFile } from "./file.ts";

/** The files, and behind them those that they hold of other heaters, other bases and other inverse volts. */
export function withVariants(files: readonly ValveFile[]): readonly ValveFile[] {
  return [
    ...files,
    ...files.flatMap((file) => [...otherHeaters(file), ...otherBases(file), ...otherVoltages(file)]),
  ];
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
    other_voltages: undefined,
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

/** A sheet of silicon rectifiers is one for a whole row of them: the inverse volts are all that they differ in. */
function otherVoltages(file: ValveFile): ValveFile[] {
  return (file.other_voltages ?? []).map(({ type, vrrm_V }) => ({
    ...alike(file, { type }),
    limits: { ...file.limits, vrrm_V, vrms_V: undefined, vdc_V: vrrm_V },
    limits_other: undefined,
  }));
}
