/** The worst that a reading or a net comes to, over the states and mains levels that a limit applies to. */
import type { MainsLevel, NetIndex } from "../../circuit/model.ts";
import type { Analysis, Band, ReadingName, Solution, StateName } from "../../physics/results.ts";
import { LEVELS } from "./state.ts";

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

/** Every solved solution of the states and levels asked for, in the order of the amplifier's states. */
export function* solutions(analysis: Analysis, where: Where = {}): Generator<Solution> {
  for (const state of analysis.states) {
    if (where.states && !where.states.includes(state)) continue;
    for (const level of where.levels ?? LEVELS) {
      const solution = analysis.solution(state, level);
      if (solution?.solved) yield solution;
    }
  }
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
  const seek = where.seek ?? "most";
  const better = (a: number, b: number) =>
    seek === "most" ? a > b : seek === "least" ? a < b : Math.abs(a) > Math.abs(b);
  const worstOfState = new Map<StateName, { readonly solution: Solution; readonly nominal: number }>();
  for (const solution of solutions(analysis, where)) {
    const nominal = nominalOf(solution);
    if (nominal === undefined || Number.isNaN(nominal)) continue;
    const known = worstOfState.get(solution.state);
    if (!known || better(nominal, known.nominal)) worstOfState.set(solution.state, { solution, nominal });
  }
  let found: Worst | undefined;
  for (const { solution, nominal } of worstOfState.values()) {
    let value = nominal;
    if (where.tolerance !== "nominal" && bandOf) {
      const band = bandOf(solution);
      if (band) {
        for (const edge of [band.low, band.high])
          if (!Number.isNaN(edge) && better(edge, value)) value = edge;
      }
    }
    if (found && !better(value, found.value)) continue;
    found = {
      value,
      nominal,
      state: solution.state,
      mains: solution.level,
      solution,
      estimate: key === undefined ? undefined : estimateOf(solution, key),
    };
  }
  return found;
}

/** The sentence about the estimate that a reading or net rests on, if any. Entries read `key: sentence`. */
export function estimateOf(solution: Solution, key: string): string | undefined {
  for (const entry of solution.estimates) {
    if (entry === key) return "it rests on an estimate";
    if (entry.startsWith(`${key}:`)) return entry.slice(key.length + 1).trim();
  }
  return undefined;
}
