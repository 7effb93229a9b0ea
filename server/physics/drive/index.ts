/**
 * The output stages of an amplifier under drive: design/analysis "Output stage under drive". Quasi-static; the supply,
 * the cathode bias and whatever else gives way under the average currents is a linear source resistance about the idle
 * solution, told by the dc solver.
 */
import type { Circuit } from "../../circuit/model.ts";
import { doubles } from "../linear/slabs.ts";
import type { DriveResult } from "../results.ts";
import type { Topology } from "../topology.ts";
import { type FoundStage, findStages, type LawOf } from "./find.ts";
import { type Level, LevelSolver } from "./level.ts";
import { port, type Stage, type StageBranch, type StageNode, type StageSection } from "./stage.ts";

export interface DriveInput {
  readonly circuit: Circuit;
  readonly topology: Topology;
  /** Average volts at idle by node of the topology. */
  readonly nodeVolts: Float64Array;
  /**
   * How the volts of nodes answer to currents: volts LOST at `nodes[i]` for each ampere drawn out of `nodes[j]`,
   * row-major. Linear, at the idle solution, with the currents of the valve sections in `held` (`V3`, `V1.a`) standing
   * still, whatever their electrodes do. Nodes are never circuit common.
   */
  sourceOhms(nodes: readonly number[], held: ReadonlySet<string>): Float64Array;
  readonly lawOf: LawOf;
  /** What `findStages` finds of them, where that is known. */
  readonly stages?: readonly FoundStage[];
}

/** Levels of drive between none and the onset, as parts of its grid swing. */
const LEVELS = [0, 0.2, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1] as const;

/** A winding is never quite without resistance; small against any load. */
const LEAST_WINDING_OHMS = 1;

/** Every output stage of the circuit, driven by a sine up to the onset of grid current or clipping. Never throws. */
export function driveStages(input: DriveInput): DriveResult[] {
  const results: DriveResult[] = [];
  for (const found of input.stages ?? findStages(input.circuit, input.topology, input.lawOf)) {
    const built = buildStage(found, input);
    if (built) results.push(sweep(found, built));
  }
  return results;
}

interface Built {
  readonly stage: Stage;
  /** Resistors whose dissipation the drive tells: of signal by branch, of cathode bias by their two ends. */
  readonly resistors: readonly { readonly key: string; readonly ohms: number; readonly branch: number }[];
  readonly biasResistors: readonly {
    readonly key: string;
    readonly ohms: number;
    readonly from: StageNode;
    readonly to: StageNode;
  }[];
}

function buildStage(found: FoundStage, input: DriveInput): Built | undefined {
  const { nodeVolts } = input;
  const volts = (node: number) => (node < 0 ? 0 : nodeVolts[found.split.get(node) ?? node]);
  const index = new Map<number, StageNode>();
  for (const [i, node] of found.moving.entries()) index.set(node, i);
  const portNodes: number[] = [];
  const nodeOf = (node: number): StageNode => {
    let known = index.get(node);
    if (known === undefined) {
      known = port(portNodes.length);
      portNodes.push(node);
      index.set(node, known);
    }
    return known;
  };
  const branches: StageBranch[] = [];
  const half = found.second !== undefined;
  const winding = found.transformer.plates!.resistance.value / (half ? 2 : 1);
  const ends: [number, 1 | -1, number | undefined][] = [[found.first, 1, found.taps[0]]];
  if (found.second !== undefined) ends.push([found.second, -1, found.taps[1]]);
  for (const [end, side, tap] of ends) {
    const copper = Math.max(winding, LEAST_WINDING_OHMS);
    const lay = (from: number, to: number, part: number) =>
      branches.push({ from: nodeOf(from), to: nodeOf(to), siemens: 1 / (part * copper), turns: side * part });
    if (tap === undefined) lay(found.common, end, 1);
    else {
      const share = Math.min(Math.max(found.tapShare, 0.01), 0.99);
      lay(found.common, tap, share);
      lay(tap, end, 1 - share);
    }
  }
  const resistors: Built["resistors"][number][] = [];
  for (const { key, from, to, ohms } of found.resistances) {
    resistors.push({ key, ohms, branch: branches.length });
    branches.push({ from: nodeOf(from), to: nodeOf(to), siemens: 1 / ohms, turns: 0 });
  }
  const sections: StageSection[] = found.sections.map((section) => ({
    key: section.key,
    law: section.law,
    side: section.side,
    grid: nodeOf(section.grid),
    plate: nodeOf(section.plate),
    screen: section.screen === undefined ? undefined : nodeOf(section.screen),
    cathode: nodeOf(section.cathode),
  }));
  const biasResistors = found.biasResistances.map(({ key, ohms, from, to }) => ({
    key,
    ohms,
    from: nodeOf(from),
    to: nodeOf(to),
  }));
  const portVolts = Float64Array.from(portNodes, volts);
  const startVolts = Float64Array.from(found.moving, volts);
  if (![...portVolts, ...startVolts].every(Number.isFinite)) return undefined;

  // Circuit common is a port too, that nothing moves.
  const asked = portNodes.filter((node) => node >= 0);
  const answer = input.sourceOhms(asked, new Set(found.sections.map((section) => section.key)));
  const p = portNodes.length;
  const portOhms = doubles(p * p);
  const place = portNodes.map((node) => asked.indexOf(node));
  for (let i = 0; i < p; i++) {
    for (let j = 0; j < p; j++) {
      if (place[i] < 0 || place[j] < 0) continue;
      const ohms = answer[place[i] * asked.length + place[j]];
      portOhms[i * p + j] = Number.isFinite(ohms) ? ohms : 0;
    }
  }
  return {
    resistors,
    biasResistors,
    stage: {
      sections,
      branches,
      nodeCount: found.moving.length,
      nodeVolts: startVolts,
      // One turn is a half primary in push-pull, the whole of it single-ended.
      loadOhms: half ? found.load.ohms / 4 : found.load.ohms,
      delivered: found.load.delivered,
      portVolts,
      portOhms,
    },
  };
}

type Readings = DriveResult["levels"][number]["readings"];

function sweep(found: FoundStage, built: Built): DriveResult {
  const { stage } = built;
  const solver = new LevelSolver(stage);
  const onset = solver.atOnset();
  const levels: { level: number; watts: number; readings: Readings }[] = [];
  const worst = new Map<string, { watts: number; level: number }>();
  let solved = onset.solved;
  // From the onset downwards each level starts from its neighbour's solution.
  for (let i = LEVELS.length - 1; i >= 0; i--) {
    const level = LEVELS[i];
    const at = level === 1 ? onset : solver.at(level * onset.amplitude);
    solved &&= at.solved;
    levels.push({ level, watts: at.cycle.watts, readings: readingsOf(built, at) });
  }
  levels.reverse();
  for (const { level, readings } of levels) {
    for (const [key, { watts }] of readings) {
      if (key.endsWith(".cathode")) continue;
      const known = worst.get(key);
      if (!known || watts > known.watts) worst.set(key, { watts, level });
    }
  }
  return {
    stage: found.transformer.reference,
    watts: onset.cycle.watts,
    worst,
    levels,
    limit: onset.limit,
    gridVoltsPeak: onset.amplitude,
    loadOhms: found.load.ohms,
    loadFitted: found.load.fitted,
    solved,
  };
}

function readingsOf({ stage, resistors, biasResistors }: Built, { cycle, ports }: Level): Readings {
  const readings = new Map<string, { amps: number; watts: number; peak?: number; peakVolts?: number }>();
  stage.sections.forEach((section, i) => {
    readings.set(`${section.key}.plate`, {
      amps: cycle.plateAmps[i],
      watts: cycle.plateWatts[i],
      peak: cycle.plateAmpsPeak[i],
      peakVolts: cycle.plateVoltsPeak[i],
    });
    if (section.screen !== undefined) {
      readings.set(`${section.key}.screen`, {
        amps: cycle.screenAmps[i],
        watts: cycle.screenWatts[i],
        peak: cycle.screenAmpsPeak[i],
        peakVolts: cycle.screenVoltsPeak[i],
      });
    }
    readings.set(`${section.key}.cathode`, { amps: cycle.plateAmps[i] + cycle.screenAmps[i], watts: 0 });
  });
  for (const { key, ohms, branch } of resistors) {
    const square = cycle.branchSquares[branch];
    readings.set(key, { amps: Math.sqrt(square), watts: square * ohms });
  }
  for (const { key, ohms, from, to } of biasResistors) {
    // A bias resistor ends on ports: a moving end would have made it one of the others.
    if (from >= 0 || to >= 0) continue;
    const volts = ports[-1 - from] - ports[-1 - to];
    readings.set(key, { amps: Math.abs(volts) / ohms, watts: (volts * volts) / ohms });
  }
  return readings;
}
