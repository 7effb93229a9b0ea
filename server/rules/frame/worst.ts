/** The worst that a reading or a net comes to, over the states and mains levels that a limit applies to. */

import { KeptWith } from "../../circuit/kept-with.ts";
import type { MainsLevel, NetIndex } from "../../circuit/model.ts";
import { solvedAs } from "../../physics/alike.ts";
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

interface Kept {
  readonly lists: Map<number, readonly Solution[]>;
  readonly rows: Map<string, Row>;
}

const kept = new KeptWith<Analysis, Kept>();

function keptOf(analysis: Analysis): Kept {
  const solved = solvedAs(analysis);
  let found = kept.get(solved);
  if (!found) {
    found = { lists: new Map(), rows: new Map() };
    kept.set(solved, found);
  }
  return found;
}

type Readings = NonNullable<ReturnType<Solution["readings"]["get"]>>;

/** The readings of one key in every solution that was asked for it. */
export interface Row {
  readonly key: string;
  /** By state and level; null where a solution has none. */
  readonly readings: (Readings | null | undefined)[];
  /** The worst that was found of each reading, where it was looked for: a few at most. */
  readonly worsts: Found[];
}

/** The worst of one reading: several rules ask for it, and every check whose solutions are taken over. */
interface Found {
  /** What it depends on besides the key. */
  readonly reading: ReadingName;
  readonly code: number;
  readonly tolerance: Where["tolerance"];
  readonly seek: Where["seek"];
  readonly close: number;
  readonly average: string | undefined;
  /** With nominal parts. */
  readonly nominal: Worst | undefined;
  /** With tolerances; null until it is asked for. */
  spread: Worst | null | undefined;
}

/**
 * The worst of a reading with nominal parts, or with tolerances where they may tell.
 * @param from  size of the nominal figure from which on they may
 * @param close share of the worst figure below which a state's band is not asked for: it cannot become the worst
 * @param average as of `Solution.band`
 */
export function worstReading(
  analysis: Analysis,
  key: string,
  reading: ReadingName,
  where: Where,
  from = 0,
  close = 0,
  average?: string,
): Worst | undefined {
  const row = rowOf(analysis, key);
  const { tolerance, seek } = where;
  const code = codeOf(where);
  let found = row.worsts.find(
    (known) =>
      known.reading === reading &&
      known.code === code &&
      known.tolerance === tolerance &&
      known.seek === seek &&
      known.close === close &&
      known.average === average,
  );
  if (!found) {
    const nominal = worstNominal(solutions(analysis, where), row, reading, seek);
    found = { reading, code, tolerance, seek, close, average, nominal, spread: null };
    row.worsts.push(found);
  }
  const { nominal } = found;
  if (!nominal || tolerance === "nominal" || Math.abs(nominal.value) < from) return nominal;
  if (found.spread === null) found.spread = worstSpread(analysis, row, where, found, nominal);
  return found.spread;
}

/** The worst of a reading with the tolerances that may make it worse than the worst nominal one. */
function worstSpread(
  analysis: Analysis,
  row: Row,
  where: Where,
  { reading, close, average }: Found,
  nominal: Worst,
): Worst | undefined {
  const nominalOf = (solution: Solution) => readingsAt(row, solution)?.[reading];
  const least = close * Math.abs(nominal.value);
  const bandOf = (solution: Solution) =>
    Math.abs(nominalOf(solution) ?? 0) < least ? undefined : solution.band(row.key, reading, average);
  return widest(where, worstOfStates(analysis, where, nominalOf), bandOf, row.key);
}

/** The worst of a reading with nominal parts: of figures that are alike the first. */
function worstNominal(
  among: readonly Solution[],
  row: Row,
  reading: ReadingName,
  seek: Where["seek"],
): Worst | undefined {
  let worst: Solution | undefined;
  let most = 0;
  for (const solution of among) {
    const value = readingsAt(row, solution)?.[reading];
    if (value === undefined || Number.isNaN(value)) continue;
    if (worst && !worse(value, most, seek)) continue;
    worst = solution;
    most = value;
  }
  return (
    worst && {
      value: most,
      nominal: most,
      state: worst.state,
      mains: worst.level,
      solution: worst,
      estimate: estimateOf(worst, row.key),
    }
  );
}

/** Many rules ask for the readings of one part: each solution's are looked up once. */
export function rowOf(analysis: Analysis, key: string): Row {
  const { rows } = keptOf(analysis);
  let row = rows.get(key);
  if (!row) {
    row = { key, readings: new Array(STATES.length * LEVELS.length), worsts: [] };
    rows.set(key, row);
  }
  return row;
}

/** @param solution of the analysis that the row was made for */
export function readingsAt({ key, readings }: Row, solution: Solution): Readings | undefined {
  const at = STATES.indexOf(solution.state) * LEVELS.length + LEVELS.indexOf(solution.level);
  let found = readings[at];
  if (found === undefined) {
    found = solution.readings.get(key) ?? null;
    readings[at] = found;
  }
  return found ?? undefined;
}

/** Every solved solution of the states and levels asked for, in the order of the amplifier's states. Kept per analysis. */
export function solutions(analysis: Analysis, where: Where = {}): readonly Solution[] {
  const { lists } = keptOf(analysis);
  const key = codeOf(where);
  let list = lists.get(key);
  if (!list) {
    list = find(analysis, where);
    lists.set(key, list);
  }
  return list;
}

/** The states and levels asked for: a bit for each state, then a digit for each level, in the order asked for. */
function codeOf(where: Where): number {
  let states = 0;
  if (where.states) for (const state of where.states) states |= 1 << STATES.indexOf(state);
  else states = 31;
  let levels = 0;
  for (const level of where.levels ?? LEVELS) levels = levels * 4 + 1 + LEVELS.indexOf(level);
  return states * 64 + levels;
}

/** Of figures that are alike the first is told: where the mains make no difference (a bench source) they are as they should be. */
const NOMINAL_FIRST: readonly MainsLevel[] = ["nominal", "low", "high"];

function find(analysis: Analysis, where: Where): readonly Solution[] {
  const found: Solution[] = [];
  for (const state of analysis.states) {
    if (where.states && !where.states.includes(state)) continue;
    for (const level of where.levels ?? NOMINAL_FIRST) {
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
  return worstReading(analysis, key, reading, where);
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

const told = new KeptWith<Solution, ReadonlyMap<string, string>>();

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
