/** The pots of a fixed bias at the ends of their travel: a limit that a setting moves is checked there too. */
import type { Circuit, MainsLevel, Pot } from "../../circuit/model.ts";
import type { Analysis, ReadingName } from "../../physics/results.ts";
import { LEVELS } from "../frame/index.ts";
import { keptBySection } from "../shared/by-section.ts";
import { type Rated, type Section, whereOf } from "../shared/sections.ts";
import { biasOf } from "./bias.ts";

export interface End {
  readonly pots: readonly Pot[];
  readonly settings: ReadonlyMap<string, number>;
}

/** Settings of the pots that bias a section, each turned to the end that makes its plate hottest; undefined without a pot. */
export const hottestSettings = keptBySection(find);

/** The other ends. */
export function coolestSettings(circuit: Circuit, analysis: Analysis, section: Section): End | undefined {
  const hot = hottestSettings(circuit, analysis, section);
  return (
    hot && { pots: hot.pots, settings: new Map([...hot.settings].map(([name, share]) => [name, 1 - share])) }
  );
}

function find(circuit: Circuit, analysis: Analysis, section: Section): End | undefined {
  const bias = biasOf(circuit, analysis, section);
  if (bias?.kind !== "fixed") return undefined;
  const pots = bias.setters.filter((part): part is Pot => part.kind === "pot");
  if (pots.length === 0) return undefined;
  const settings = new Map<string, number>();
  for (const pot of pots) {
    const up = hotterUp(analysis, pot, `${section.key}.plate`);
    if (up === undefined) return undefined;
    settings.set(pot.reference, up ? 1 : 0);
  }
  return { pots, settings };
}

/** True where the plate is hotter with the wiper at the top; undefined where that is not known. */
function hotterUp(analysis: Analysis, pot: Pot, key: string): boolean | undefined {
  const [top, wiper, bottom] = ["top", "wiper", "bottom"].map((name) => pot.terminals.get(name));
  const volts = analysis.solution("idle", "nominal")?.volts;
  // A divider's wiper takes the volts of the end that it comes to: no need to solve for both.
  if (volts && top !== undefined && bottom !== undefined && wiper !== top && wiper !== bottom) {
    if (Math.abs(volts[top] - volts[bottom]) > 0.1) return volts[top] > volts[bottom];
  }
  const at = (share: number): number | undefined => {
    const turned = analysis.atSettings(new Map([[pot.reference, share]])).solution("idle", "nominal");
    return turned?.solved ? turned.readings.get(key)?.watts : undefined;
  };
  const [low, high] = [at(0), at(1)];
  return low === undefined || high === undefined ? undefined : high > low;
}

export interface Turned {
  readonly value: number;
  readonly mains: MainsLevel;
  readonly pots: readonly Pot[];
}

/** A reading at idle with the pots at an end, at the worst mains that its limit is held at; nominal parts. */
export function readingAtEnd(
  analysis: Analysis,
  end: End | undefined,
  key: string,
  reading: ReadingName,
  bound: Rated,
): Turned | undefined {
  if (!end) return undefined;
  const turned = analysis.atSettings(end.settings);
  let most: Turned | undefined;
  for (const mains of whereOf(bound.block).levels ?? LEVELS) {
    const solution = turned.solution("idle", mains);
    const value = solution?.solved ? solution.readings.get(key)?.[reading] : undefined;
    if (value !== undefined && (!most || value > most.value)) most = { value, mains, pots: end.pots };
  }
  return most;
}
