/** From a circuit to what happens in it. The one entrance to the physics. */
import type { Circuit, MainsLevel } from "../circuit/model.ts";
import { type Laws, publishedLaws } from "./dc/elements.ts";
import { Plants } from "./dc/plant.ts";
import { driveStages } from "./drive/index.ts";
import type { Analysis, Discharge, DriveResult, StateName } from "./results.ts";
import { DcSolution } from "./solution.ts";
import { conditionsOf, statesOf } from "./states.ts";
import { findSupplies } from "./supply/index.ts";
import type { FindSupplies, LaterRipple } from "./supply/island.ts";

export interface AnalyseOptions {
  /** Other supplies, ripple, laws than the published ones: for tests. */
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
  const plants = new Plants(circuit, options.findSupplies ?? findSupplies, laws);
  const states = statesOf(circuit);
  const solutions = new Map<string, DcSolution>();
  const solve = (state: StateName, level: MainsLevel): DcSolution => {
    const key = `${state} ${level}`;
    let solution = solutions.get(key);
    if (!solution) {
      solution = new DcSolution(plants.solve(conditionsOf(circuit, state, level)), options.laterRipple);
      solutions.set(key, solution);
    }
    return solution;
  };
  const driven = new Map<MainsLevel, readonly DriveResult[]>();
  const drive = (level: MainsLevel): readonly DriveResult[] => {
    let results = driven.get(level);
    if (!results) {
      const idle = solve("idle", level);
      results = idle.solved
        ? driveStages({
            circuit,
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
  return {
    circuit,
    states,
    solution: (state, level) => (states.includes(state) ? solve(state, level) : undefined),
    discharge: new Map<MainsLevel, { warm: Map<string, Discharge>; out: Map<string, Discharge> }>(),
    drive,
    hotSwitch: new Map(),
  };
}
