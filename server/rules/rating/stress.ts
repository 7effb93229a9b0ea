/** Volts that stand across a two-terminal part: the dc, and the highest instant of it. */
import type { Circuit, NetIndex, Part } from "../../circuit/model.ts";
import type { Analysis, Solution } from "../../physics/results.ts";
import { ends, type Row, readingsAt } from "../frame/index.ts";
import { amplifying, type Section } from "../shared/sections.ts";

export interface Stress {
  /** Average volts, first net over second, nominal parts. */
  readonly dc: number;
  /** The furthest from zero that the volts come to in a cycle, ripple included, nominal parts. */
  readonly peak: number;
  /** `peak` with the parts' tolerances at their worst. */
  readonly worst: number;
}

/** Below this share of the rating no tolerance brings the volts to it. */
export const FAR = 0.6;
/** Solutions this close to the worst nominal one may be the worst with tolerances. */
const CLOSE = 0.85;

/** True where the parts' tolerances may decide. @param most the peak of the worst among the solutions that count alike */
export const mayDecide = (peak: number, bound: number | undefined, most: number): boolean =>
  Math.abs(peak) >= FAR * (bound ?? 0) && Math.abs(peak) >= CLOSE * Math.abs(most);

/** The volts across a part in one solution, nominal parts; undefined where nothing fixes them. */
export function stressAcross(solution: Solution, part: Part, row?: Row): Stress | undefined {
  const nets = ends(part);
  if (!nets) return undefined;
  const [a, b] = nets;
  const reading = row ? readingsAt(row, solution) : solution.readings.get(part.reference);
  const { volts, peak: peaks, trough: troughs } = solution;
  const dc = reading?.volts ?? volts[a] - volts[b];
  if (Number.isNaN(dc)) return undefined;
  const up = peaks[a] - troughs[b];
  const down = troughs[a] - peaks[b];
  let peak = Math.abs(up) > Math.abs(down) ? up : down;
  if (Number.isNaN(peak)) peak = dc;
  const read = reading?.peakVolts;
  if (read !== undefined && !Number.isNaN(read)) peak = read;
  return { dc, peak, worst: Math.abs(peak) };
}

/** The same with the parts' tolerances at their worst. A band costs a solve of its own: ask only where it may decide. */
export function withTolerances(stress: Stress, solution: Solution, part: Part): Stress {
  const band = solution.band(part.reference, "volts");
  const spread = band ? Math.max(band.high - band.nominal, band.nominal - band.low, 0) : 0;
  return { ...stress, worst: Math.abs(stress.peak) + (Number.isNaN(spread) ? 0 : spread) };
}

/** Highest instantaneous volts of the plates' nets under full drive at high mains, from circuit common. */
export function drivenPlates(analysis: Analysis): ReadonlyMap<NetIndex, number> {
  const circuit: Circuit = analysis.circuit;
  const found = new Map<NetIndex, number>();
  const keys = new Map<string, Section>();
  for (const section of amplifying(circuit)) keys.set(`${section.key}.plate`, section);
  for (const stage of analysis.drive("high")) {
    for (const level of stage.levels) {
      for (const [key, { peakVolts: peak }] of level.readings) {
        const section = keys.get(key);
        if (!section) continue;
        if (peak === undefined || section.plate === undefined) continue;
        if (!(peak <= (found.get(section.plate) ?? Number.NEGATIVE_INFINITY))) found.set(section.plate, peak);
      }
    }
  }
  return found;
}
