/** What the conductors come to, over all positions: the questions that several mains rules ask. */
import type { Fuse, Switch } from "../../circuit/model.ts";
import {
  arrival,
  type MainsSide,
  offPositions,
  type Positions,
  type Primary,
  type Reach,
  reach,
  way,
} from "./graph.ts";

/** `wired`: as the file has it; `exchanged`: with the plug's active and neutral the other way round. */
export type Orientation = "wired" | "exchanged";

/** The conductor that is the active, and the other, in an orientation. */
export function conductors(side: MainsSide, orientation: Orientation) {
  return orientation === "wired"
    ? { active: side.active, neutral: side.neutral }
    : { active: side.neutral, neutral: side.active };
}

export interface MisplacedFuse {
  readonly primary: Primary;
  readonly fuses: readonly Fuse[];
  readonly activeWay: ReturnType<typeof way>;
}

/** Primaries that the active comes to with no fuse on the way while the neutral's every way has one. */
export function fusedInNeutralAlone(side: MainsSide, orientation: Orientation): MisplacedFuse[] {
  const { active, neutral } = conductors(side, orientation);
  const unfusedActive = reach(side, active, { fuses: false });
  const fusedNeutral = reach(side, neutral);
  const unfusedNeutral = reach(side, neutral, { fuses: false });
  return side.primaries.flatMap((primary): MisplacedFuse[] => {
    const at = arrival(unfusedActive, primary);
    const back = arrival(fusedNeutral, primary);
    if (at === undefined || back === undefined || arrival(unfusedNeutral, primary) !== undefined) return [];
    const fuses = way(fusedNeutral, back)
      .map((edge) => edge.part)
      .filter((part): part is Fuse => part.kind === "fuse");
    return [{ primary, fuses, activeWay: way(unfusedActive, at) }];
  });
}

export interface LeftLive {
  readonly primary: Primary;
  readonly positions: Positions;
  readonly switches: readonly Switch[];
  readonly reached: Reach;
  readonly at: number;
}

/** Primaries still joined to the active with every mains switch off, in some position of the others. */
export function liveWhenOff(side: MainsSide, orientation: Orientation): LeftLive[] {
  if (side.mainsSwitches.length === 0) return [];
  const { active } = conductors(side, orientation);
  const found = new Map<string, LeftLive>();
  for (const positions of side.positions) {
    if (!side.mainsSwitches.every((part) => offPositions(part).includes(positions.get(part.reference) ?? "")))
      continue;
    const reached = reach(side, active, { positions });
    for (const primary of side.primaries) {
      const at = arrival(reached, primary);
      if (at === undefined || found.has(primary.label)) continue;
      found.set(primary.label, { primary, positions, switches: side.mainsSwitches, reached, at });
    }
  }
  return [...found.values()];
}

export interface BrokenNeutral {
  readonly part: Switch;
  readonly primary: Primary;
  readonly positions: Positions;
  readonly activeReach: Reach;
  readonly at: number;
}

/** Switches that part a primary from the neutral in a position that leaves it on the active. */
export function neutralBrokenBy(side: MainsSide, orientation: Orientation): BrokenNeutral[] {
  const { active, neutral } = conductors(side, orientation);
  const found = new Map<string, BrokenNeutral>();
  const atNeutral = new Map<string, boolean>();
  const key = (positions: Positions, primary: Primary) =>
    `${[...positions.values()].join(",")}|${primary.label}`;
  for (const positions of side.positions) {
    const reached = reach(side, neutral, { positions });
    for (const primary of side.primaries) {
      atNeutral.set(key(positions, primary), arrival(reached, primary) !== undefined);
    }
  }
  for (const positions of side.positions) {
    const parted = side.primaries.filter((primary) => !atNeutral.get(key(positions, primary)));
    if (parted.length === 0) continue;
    const reached = reach(side, active, { positions });
    for (const primary of parted) {
      const at = arrival(reached, primary);
      if (at === undefined) continue;
      for (const part of side.switches) {
        if (found.has(`${part.reference} ${primary.label}`)) continue;
        // This switch alone, moved, joins the neutral again: it is the one that breaks it.
        const joins = part.positions.some((position) =>
          atNeutral.get(key(new Map(positions).set(part.reference, position), primary)),
        );
        if (!joins) continue;
        found.set(`${part.reference} ${primary.label}`, {
          part,
          primary,
          positions,
          activeReach: reached,
          at,
        });
      }
    }
  }
  return [...found.values()];
}
