/** The worst that a reading or a net comes to, over the states and mains levels that a limit applies to. */
import type { MainsLevel, NetIndex } from "../../circuit/model.ts";
import type { Analysis, Band, ReadingName, Solution, StateName } from "../../physics/results.ts";
import { LEVELS, STATES } from "./state.ts";

export interface Worst {
  /** The value a limit is held against, signed as computed; with part tolerances unless `tolerance: "nominal"`. */
  readonly value: number;
  /** The same with nominal parts. */
  readonly nominal: number;
  readonly state: StateName;
  readonly mains: MainsLevel;
  readonly solution: Solution;
  /** The sentence that says which estimate the value rests on. */
  readonly estimate?: string;
}

export interface Where {
  /** Left out: every state that the amplifier has. */
  readonly states?: readonly StateName[];
  /** Left out: every mains level. */
  readonly levels?: readonly MainsLevel[];
  /** `worst` (left out): the edge of the band by part tolerance; `nominal`: nominal parts (design-centre ratings). */
  readonly tolerance?: "nominal" | "worst";
  /** `most` (left out): largest; `least`: smallest; `size`: furthest from zero, either sign. */
  readonly seek?: "most" | "least" | "size";
}

const kept = new WeakMap<Analysis, Map<number, readonly Solution[]>>();

/** Every solved solution of the states and levels asked for, in the order of the amplifier's states. Kept per analysis. */
export function solutions(analysis: Analysis, where: Where = {}): readonly Solution[] {
  let lists = kept.get(analysis);
  if (!lists) {
    lists = new Map();
    kept.set(analysis, lists);
  }
  // Which states and levels, in which order of levels: a digit for each.
  let key = 0;
  if (where.states) for (const state of where.states) key |= 1 << STATES.indexOf(state);
  else key = 31;
  if (where.levels) for (const level of where.levels) key = key * 4 + 1 + LEVELS.indexOf(level);
  else key = key * 64 + 27;
  let list = lists.get(key);
  if (!list) {
    list = find(analysis, where);
    lists.set(key, list);
  }
  return list;
}

function find(analysis: Analysis, where: Where): readonly Solution[] {
  const found: Solution[] = [];
  for (const state of analysis.states) {
    if (where.states && !where.states.includes(state)) continue;
    for (const level of where.levels ?? LEVELS) {
      const solution = analysis.solution(state, level);
      if (solution?.solved) found.push(solution);
    }
  }
  return found;
}

/** The worst of a reading by its key (`C20`, `V3.plate`, `T1.ht`); undefined where no solution has it. */
export function worst(
  analysis: Analysis,
  key: string,
  reading: ReadingName,
  where: Where = {},
): Worst | undefined {
  return worstOf(
    analysis,
    where,
    (solution) => solution.readings.get(key)?.[reading],
    (solution) => solution.band(key, reading),
    key,
  );
}

/** The worst of a net's average volts from circuit common. */
export function worstNet(analysis: Analysis, net: NetIndex, where: Where = {}): Worst | undefined {
  const name = analysis.circuit.nets[net]?.name ?? "";
  return worstOf(
    analysis,
    where,
    (solution) => solution.volts[net],
    (solution) => solution.netBand(net),
    name,
  );
}

/**
 * The worst of any figure that can be had from a solution. The levels of a state differ by the mains alone, so that its bands are
 * alike and the worst nominal figure is the worst with tolerances too: a band, which costs a solve of its own, is asked for there.
 */
export function worstOf(
  analysis: Analysis,
  where: Where,
  nominalOf: (solution: Solution) => number | undefined,
  bandOf?: (solution: Solution) => Band | undefined,
  key?: string,
): Worst | undefined {
  return widest(where, worstOfStates(analysis, where, nominalOf), bandOf, key);
}

/** The worst nominal figure of one state. */
export interface Nominal {
  readonly solution: Solution;
  readonly nominal: number;
}

/** True where the first figure is the worse one. */
function worse(a: number, b: number, seek: Where["seek"]): boolean {
  return seek === "least" ? a < b : seek === "size" ? Math.abs(a) > Math.abs(b) : a > b;
}

/** The worst nominal figure of each state, in the order of the states. */
export function worstOfStates(
  analysis: Analysis,
  where: Where,
  nominalOf: (solution: Solution) => number | undefined,
): readonly Nominal[] {
  const found: { solution: Solution; nominal: number }[] = [];
  for (const solution of solutions(analysis, where)) {
    const nominal = nominalOf(solution);
    if (nominal === undefined || Number.isNaN(nominal)) continue;
    // The solutions of a state stand together.
    const last = found.length > 0 ? found[found.length - 1] : undefined;
    if (last === undefined || last.solution.state !== solution.state) found.push({ solution, nominal });
    else if (worse(nominal, last.nominal, where.seek)) {
      last.solution = solution;
      last.nominal = nominal;
    }
  }
  return found;
}

/** Of the states' worst figures the worst, widened by their bands. */
export function widest(
  where: Where,
  states: readonly Nominal[],
  bandOf?: (solution: Solution) => Band | undefined,
  key?: string,
): Worst | undefined {
  const { seek } = where;
  let worst: Nominal | undefined;
  let most = 0;
  for (const state of states) {
    let value = state.nominal;
    const band = where.tolerance === "nominal" ? undefined : bandOf?.(state.solution);
    if (band) {
      if (!Number.isNaN(band.low) && worse(band.low, value, seek)) value = band.low;
      if (!Number.isNaN(band.high) && worse(band.high, value, seek)) value = band.high;
    }
    if (worst && !worse(value, most, seek)) continue;
    worst = state;
    most = value;
  }
  if (!worst) return undefined;
  const { solution, nominal } = worst;
  return {
    value: most,
    nominal,
    state: solution.state,
    mains: solution.level,
    solution,
    estimate: key === undefined ? undefined : estimateOf(solution, key),
  };
}

const told = new WeakMap<Solution, ReadonlyMap<string, string>>();

/** The sentence about the estimate that a reading or net rests on, if any. Entries read `key: sentence`. */
export function estimateOf(solution: Solution, key: string): string | undefined {
  let byKey = told.get(solution);
  if (!byKey) {
    byKey = estimatesByKey(solution);
    told.set(solution, byKey);
  }
  return byKey.get(key);
}

/** The first entry of each key counts. */
function estimatesByKey(solution: Solution): ReadonlyMap<string, string> {
  const byKey = new Map<string, string>();
  for (const entry of solution.estimates) {
    const colon = entry.indexOf(":");
    const key = colon < 0 ? entry : entry.slice(0, colon);
    if (!byKey.has(key))
      byKey.set(key, colon < 0 ? "it rests on an estimate" : entry.slice(colon + 1).trim());
  }
  return byKey;
}
