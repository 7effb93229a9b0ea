/**
 * What a sheet's own operations put on an electrode at full signal. Some pass the limit that the same sheet prints (it is then
 * an average over speech and music): an amplifier that does what the sheet shows is passed.
 */
import type { Section } from "../shared/sections.ts";

export interface PublishedDrive {
  readonly value: number;
  readonly source: string;
}

/** The most watts of a screen, one valve. */
export function publishedScreenWatts(section: Section): PublishedDrive | undefined {
  return most(section, ({ screen_V, screen_mA_max_signal }) =>
    screen_V === undefined || screen_mA_max_signal === undefined
      ? undefined
      : (screen_V * screen_mA_max_signal) / 1000,
  );
}

/** The most amperes of a cathode, one valve. */
export function publishedCathodeAmps(section: Section): PublishedDrive | undefined {
  return most(section, ({ plate_mA_max_signal, screen_mA_max_signal }) =>
    plate_mA_max_signal === undefined
      ? undefined
      : (plate_mA_max_signal + (screen_mA_max_signal ?? 0)) / 1000,
  );
}

type Point = NonNullable<Section["facts"]>["points"][number];

function most(section: Section, of: (point: Point) => number | undefined): PublishedDrive | undefined {
  const number = 1 + (section.facts?.sections.findIndex(({ name }) => name === section.section.name) ?? 0);
  let found: Point | undefined;
  let value = 0;
  for (const point of section.facts?.points ?? []) {
    if (point.section !== undefined && point.section !== number) continue;
    const both = of(point);
    if (both === undefined) continue;
    const own = point.current_basis === "both valves" ? both / 2 : both;
    if (found && !(own > value)) continue;
    found = point;
    value = own;
  }
  return (
    found && {
      value,
      source: `${section.facts?.type} sheet, its own ${found.mode} operation, ${found.source}${found.evidence === "memory" ? ", from memory" : ""}`,
    }
  );
}
