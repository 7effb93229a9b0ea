/** From a circuit to what happens in it. The one entrance to the physics. */
import { atOnce, type InSteps } from "../circuit/in-steps.ts";
import type { Circuit, MainsLevel } from "../circuit/model.ts";
import { type Laws, publishedLaws } from "./dc/elements.ts";
import { Plants } from "./dc/plant.ts";
import { Emptying } from "./discharge.ts";
import { type FoundStage, findStages } from "./drive/find.ts";
import { driveStages } from "./drive/index.ts";
import type { Analysis, Discharge, DriveResult, Solution, StateName } from "./results.ts";
import { DcSolution } from "./solution.ts";
import { conditionsOf, statesOf } from "./states.ts";
import { findSupplies, findSuppliesWith } from "./supply/index.ts";
import type { FindSupplies, LaterRipple, SolvedNetwork } from "./supply/island.ts";
import { type LaterPhasors, laterPhasors } from "./supply/ripple.ts";
import type { Topology } from "./topology.ts";
import { turn } from "./turned.ts";

export interface AnalyseOptions {
  /** Other supplies, ripple, laws than the published ones: laws of a user's own types, and for tests. */
  readonly findSupplies?: FindSupplies;
  readonly laterRipple?: LaterRipple;
  readonly laws?: Laws;
}

/**
 * Nothing is solved before it is asked for, and each state at each mains level once.
 * @throws never: a circuit without a solution gives solutions with `solved` false and the trouble told
 */
export function analyse(circuit: Circuit, options: AnalyseOptions = {}): Analysis {
  const laws = options.laws ?? publishedLaws;
  const supplies: FindSupplies =
    options.findSupplies ??
    (options.laws
      ? (of, topology, conditions) => findSuppliesWith(of, topology, conditions, { laws })
      : findSupplies);
  const plants = new Plants(circuit, supplies, laws);
  const { laterRipple } = options;
  function* findPhasors(solved: SolvedNetwork): InSteps<LaterPhasors> {
    const phasors = yield* laterPhasors(solved);
    return laterRipple ? { ...phasors, ripple: laterRipple(solved) } : phasors;
  }
  const states = statesOf(circuit);
  const solutions = new Map<string, DcSolution>();
  function* solveInSteps(state: StateName, level: MainsLevel): InSteps<DcSolution> {
    const key = `${state} ${level}`;
    let solution = solutions.get(key);
    if (!solution) {
      const plant = yield* plants.solveInSteps(conditionsOf(circuit, state, level));
      solution = new DcSolution(plant, findPhasors);
      solutions.set(key, solution);
    }
    return solution;
  }
  const solve = (state: StateName, level: MainsLevel): DcSolution =>
    solutions.get(`${state} ${level}`) ?? atOnce(solveInSteps(state, level));
  const turned = new Map<string, Analysis>();
  const turnedTo = (settings: ReadonlyMap<string, number>): Analysis => {
    const other = withSettings(circuit, settings);
    let wholeKept: Analysis | undefined;
    const whole = (): Analysis => {
      wholeKept ??= analyse(other, options);
      return wholeKept;
    };
    const found = new Map<string, Solution | undefined>();
    const solution = (state: StateName, level: MainsLevel): Solution | undefined => {
      if (!states.includes(state)) return undefined;
      const key = `${state} ${level}`;
      if (!found.has(key)) {
        const near = turn(solve(state, level).plant, other, settings, supplies);
        found.set(key, near ? new DcSolution(near, findPhasors) : whole().solution(state, level));
      }
      return found.get(key);
    };
    return {
      circuit: other,
      states,
      solution,
      get discharge() {
        return whole().discharge;
      },
      drive: (level) => whole().drive(level),
      atSettings: (more) => analysis.atSettings(new Map([...settings, ...more])),
      everything: () => whole().everything(),
      get hotSwitch() {
        return hotSwitchOf(solution("idle", "high"));
      },
    };
  };
  const driven = new Map<MainsLevel, readonly DriveResult[]>();
  let stages: { readonly topology: Topology; readonly found: readonly FoundStage[] } | undefined;
  const drive = (level: MainsLevel): readonly DriveResult[] => {
    let results = driven.get(level);
    if (!results) {
      const idle = solve("idle", level);
      if (idle.solved && stages?.topology !== idle.topology)
        stages = { topology: idle.topology, found: findStages(circuit, idle.topology, laws.section) };
      results = idle.solved
        ? driveStages({
            circuit,
            stages: stages?.found,
            topology: idle.topology,
            nodeVolts: idle.nodeVolts,
            sourceOhms: (nodes, held) => idle.sourceOhms(nodes, held),
            lawOf: laws.section,
          })
        : [];
      driven.set(level, results);
    }
    return results;
  };
  const emptied = dischargeOf(circuit, states, solve, laws);
  const analysis: Analysis = {
    circuit,
    states,
    solution: (state, level) => (states.includes(state) ? solve(state, level) : undefined),
    discharge: emptied,
    drive,
    *everything() {
      for (const state of states) {
        for (const level of levels) {
          const solution = yield* solveInSteps(state, level);
          yield;
          if (!solution.solved) continue;
          yield* solution.rippleInSteps();
          yield;
          void solution.readings;
          yield;
        }
      }
      for (const level of levels) {
        drive(level);
        yield;
      }
      yield* emptied.get("high")!.inSteps();
    },
    atSettings(settings) {
      const key = [...settings].sort(([a], [b]) => (a < b ? -1 : 1)).join(";");
      let found = turned.get(key);
      if (!found) {
        found = turnedTo(settings);
        turned.set(key, found);
      }
      return found;
    },
    get hotSwitch() {
      return hotSwitchOf(solve("idle", "high"));
    },
  };
  return analysis;
}

/** A circuit with its pots turned. */
function withSettings(circuit: Circuit, settings: ReadonlyMap<string, number>): Circuit {
  const parts = circuit.parts.map((part) => {
    const setting = part.kind === "pot" ? settings.get(part.reference) : undefined;
    if (part.kind !== "pot" || setting === undefined) return part;
    return { ...part, setting: { ...part.setting, value: setting } };
  });
  return { ...circuit, parts, partByReference: new Map(parts.map((part) => [part.reference, part])) };
}

const levels: readonly MainsLevel[] = ["low", "nominal", "high"];

type Emptied = ReadonlyMap<string, Discharge>;

/** Worked out when first asked for: `warm` from idle, the valves conducting; `out` from the unloaded supply, every valve out. */
function dischargeOf(
  circuit: Circuit,
  states: readonly StateName[],
  solve: (state: StateName, level: MainsLevel) => DcSolution,
  laws: Laws,
): ReadonlyMap<MainsLevel, { readonly warm: Emptied; readonly out: Emptied; inSteps(): InSteps<void> }> {
  const equations = new Map<boolean, Emptying>();
  function* from(state: StateName, level: MainsLevel, pulled: boolean): InSteps<Emptied> {
    const solution = solve(state, level);
    if (!solution.solved) return new Map();
    const start = new Map<string, number>();
    for (const part of circuit.parts) {
      if (part.kind !== "capacitor") continue;
      const readings = solution.readings.get(part.reference);
      // From the average of the steady state, as the tables of discharge have it.
      const volts = readings?.volts;
      if (volts !== undefined) start.set(part.reference, volts);
    }
    const { topology } = solve("idle", level);
    let emptying = equations.get(pulled);
    if (!emptying) {
      const idle = conditionsOf(circuit, "idle", level);
      const all = new Set(
        circuit.parts.filter((part) => part.kind === "valve").map((part) => part.reference),
      );
      emptying = new Emptying(circuit, topology, pulled ? { ...idle, pulled: all } : idle, laws);
      equations.set(pulled, emptying);
    }
    return yield* emptying.from(start, solution.topology === topology ? solution.nodeVolts : undefined);
  }
  return new Map(
    levels.map((level) => {
      let warm: Emptied | undefined;
      let out: Emptied | undefined;
      const findWarm = () => from("idle", level, false);
      const findOut = () => from(states.includes("pulled") ? "pulled" : "idle", level, true);
      return [
        level,
        {
          get warm() {
            warm ??= atOnce(findWarm());
            return warm;
          },
          get out() {
            out ??= atOnce(findOut());
            return out;
          },
          *inSteps() {
            warm ??= yield* findWarm();
            yield;
            out ??= yield* findOut();
            yield;
          },
        },
      ];
    }),
  );
}

/** Peaks that the supplies tell as `surge`: every plate switched hot onto empty reservoirs at the crest of high mains. */
function hotSwitchOf(solution: Solution | undefined): ReadonlyMap<string, number> {
  const peaks = new Map<string, number>();
  if (!solution) return peaks;
  const { readings } = solution;
  // By key: to go through the readings themselves would work out every one of them.
  for (const key of readings.keys()) {
    const surge = readings.get(key)?.surge;
    if (surge !== undefined) peaks.set(key, surge);
  }
  return peaks;
}
