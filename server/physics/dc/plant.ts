/**
 * A circuit in one state made into equations, and solved. The equations serve every mains level of the state: only what the
 * supplies give differs between them.
 */
import { atOnce, type InSteps } from "../../circuit/in-steps.ts";
import type { Circuit, NetIndex } from "../../circuit/model.ts";
import { neonLamp } from "../../facts/lamps.ts";
import { outlet } from "../../facts/practice.ts";
import type { DcDevice } from "../device.ts";
import { copyOf, doubles } from "../linear/slabs.ts";
import type { Unsolved } from "../results.ts";
import { type Conditions, conditionsOf } from "../states.ts";
import type { FindSupplies, SolvedNetwork, SupplyIsland } from "../supply/island.ts";
import { findTopology, type Topology } from "../topology.ts";
import { OpenDevice, ResistorDevice } from "./devices.ts";
import { buildElements, type Elements, type Laws } from "./elements.ts";
import { finishIslands } from "./finish.ts";
import { type NewtonResult, solveDcInSteps } from "./newton.ts";
import { findReach, type Reach } from "./reach.ts";
import { findSourceLoops, type SourceLoops } from "./sources.ts";
import { DcSystem } from "./system.ts";
import { findUnsolved, type Trouble } from "./unsolved.ts";

/** A tie carries nothing, so its size does not matter to the answer; this one keeps the matrix well scaled. */
const TIE_OHMS = 1000;
export interface Plant {
  readonly circuit: Circuit;
  readonly topology: Topology;
  readonly elements: Elements;
  /** Place of the first island among the system's devices; elements stand before it. */
  readonly firstIsland: number;
  readonly system: DcSystem;
  readonly reach: Reach;
  readonly loops: SourceLoops;
  readonly inner: ReadonlySet<number>;
  /** What of the islands the equations depend on. */
  readonly shape: string;
  readonly burning: ReadonlySet<string>;
}

/** One solved (or not) state at one level. */
export interface PlantSolution {
  readonly plant: Plant;
  readonly conditions: Conditions;
  readonly islands: readonly SupplyIsland[];
  readonly x: Float64Array;
  /** Jacobian at x. */
  readonly jacobian: Float64Array;
  readonly result: NewtonResult;
  /** Local solutions and what came of them, island by island. */
  readonly islandResults: SolvedNetwork["islands"];
  /** What has no solution: its figures are those of a guess. Undefined where all is solved. */
  readonly unsolved: Unsolved | undefined;
}

/**
 * The mains where no supply takes them in: nothing between active and neutral at dc, and the neutral earthed outside. Neither carries
 * anything unless they are crossed with the circuit.
 */
function mainsDevices({ mains }: Topology, inner: ReadonlySet<number>): DcDevice[] {
  if (!mains) return [];
  const { active, neutral } = mains;
  const devices: DcDevice[] = [];
  if (active !== neutral && !inner.has(active) && !inner.has(neutral)) {
    devices.push(new ResistorDevice("mains", [active, neutral], outlet.ohms, 0));
  }
  if (neutral >= 0 && !inner.has(neutral))
    devices.push(new ResistorDevice("neutral", [neutral, -1], TIE_OHMS, 0));
  return devices;
}

/** Why there is no solution, or not of all; undefined where there is. */
function troublesOf(
  { loops, topology, system, circuit }: Plant,
  result: NewtonResult,
  islandResults: SolvedNetwork["islands"],
): readonly Trouble[] | undefined {
  const named = (nodes: readonly number[]): NetIndex[] =>
    nodes.flatMap((node) => (node < 0 ? topology.commonNets : (topology.nets[node] ?? [])));
  let troubles: Trouble[] | undefined;
  for (const { message, nets, source, shorted } of loops.contradictions) {
    troubles ??= [];
    const nodes = nets.map((net) => topology.node[net]);
    // Across the mains it is on everything that the mains feeds.
    const { mains } = topology;
    const onMains =
      mains && nodes.some((node) => node >= 0 && (node === mains.active || node === mains.neutral));
    troubles.push({ message, nets, nodes, source, reach: shorted ? "ring" : onMains ? "all" : "joined" });
  }
  if (result.converged) {
    // Figures of a supply that has not settled are nobody's: neither is what hangs on it.
    for (const { island, result: inside } of islandResults) {
      if (!inside.trouble) continue;
      troubles ??= [];
      const { message, nodes } = inside.trouble;
      const own = [...island.device.nodes, ...island.innerNodes];
      troubles.push({ message, nets: named(nodes), nodes: own, reach: "joined" });
    }
    return troubles;
  }
  let nodes: number[] = [];
  let what = "the supply";
  if (result.worst >= 0 && result.worst < system.nodeUnknowns) {
    nodes = [system.unknownOfNode.indexOf(result.worst)];
  } else if (result.worst >= 0) {
    const device = system.devices.findIndex((_, d) =>
      system.unknowns.subarray(system.start[d], system.start[d + 1]).includes(result.worst),
    );
    if (device >= 0) {
      nodes = system.devices[device].nodes.filter((node) => node >= 0);
      what = system.devices[device].reference;
    }
  }
  const nets = named(nodes);
  const where = nets.length > 0 ? nets.map((net) => circuit.nets[net].name).join(", ") : what;
  const message = result.singular
    ? `no direct-current solution: nothing decides the volts or the current at ${where}`
    : `no direct-current solution was found: the currents at ${where} do not settle`;
  return [...(troubles ?? []), { message, nets, nodes, reach: "all" }];
}

function shapeOf(islands: readonly SupplyIsland[]): string {
  return islands
    .map(({ device, parts, heaters, innerNodes }) =>
      [device.nodes.join(), device.branches, [...parts].join(), [...heaters].join(), innerNodes.join()].join(
        "|",
      ),
    )
    .join(";");
}

export class Plants {
  private readonly topologies = new Map<string, Topology>();
  private readonly plants = new Map<string, Plant>();
  private idleFloating: ReadonlySet<NetIndex> | undefined;
  /** Solutions by state, in the order in which they were found, to start from. */
  private readonly solved = new Map<string, PlantSolution[]>();

  constructor(
    readonly circuit: Circuit,
    private readonly findSupplies: FindSupplies,
    private readonly laws: Laws,
  ) {}

  topology(conditions: Conditions): Topology {
    const key = [...conditions.positions].join(";");
    let topology = this.topologies.get(key);
    if (!topology) {
      topology = findTopology(this.circuit, conditions.positions);
      this.topologies.set(key, topology);
    }
    return topology;
  }

  /** Solve a state at a level, from what has been solved before. */
  solve(conditions: Conditions): PlantSolution {
    return atOnce(this.solveInSteps(conditions));
  }

  *solveInSteps(conditions: Conditions): InSteps<PlantSolution> {
    const topology = this.topology(conditions);
    const islands = this.findSupplies(this.circuit, topology, conditions);
    yield;
    let burning: ReadonlySet<string> = this.plants.get(conditions.state)?.burning ?? new Set();
    for (let round = 0; ; round++) {
      const plant = yield* this.plant(conditions, topology, islands, burning);
      const solution = yield* this.solvePlant(plant, conditions, islands);
      const struck = round < 8 && solution.result.converged ? this.strike(solution) : undefined;
      if (struck) {
        burning = struck;
        continue;
      }
      if (solution.result.converged) {
        const others = this.solved.get(conditions.state);
        if (others) others.push(solution);
        else this.solved.set(conditions.state, [solution]);
      }
      return solution;
    }
  }

  /** The neon lamps that burn now, if others than before. */
  private strike(solution: PlantSolution): ReadonlySet<string> | undefined {
    const { plant, x } = solution;
    const volts = (node: number): number => {
      const unknown = node < 0 ? -1 : plant.system.unknownOfNode[node];
      return unknown < 0 ? 0 : x[unknown];
    };
    const floating = new Set(plant.reach.floating);
    const struck = plant.elements.neons.filter(
      ({ nodes: [a, b] }) =>
        !floating.has(a) && !floating.has(b) && Math.abs(volts(a) - volts(b)) > neonLamp.strikeVolts,
    );
    if (struck.length === 0) return undefined;
    return new Set([...plant.burning, ...struck.map((lamp) => lamp.reference)]);
  }

  private *plant(
    conditions: Conditions,
    topology: Topology,
    islands: readonly SupplyIsland[],
    burning: ReadonlySet<string>,
  ): InSteps<Plant> {
    const shape = `${shapeOf(islands)}/${[...burning].join()}/${[...conditions.unlit].join()}`;
    const known = this.plants.get(conditions.state);
    if (known && known.shape === shape && known.topology === topology) {
      islands.forEach((island, k) => {
        known.system.replace(known.firstIsland + k, island.device);
      });
      return known;
    }
    // Which nets are fixed once all is warm decides what is dead and what floats in every other state.
    if (conditions.state !== "idle" && !this.idleFloating) {
      const idle = conditionsOf(this.circuit, "idle", conditions.level);
      const idleTopology = this.topology(idle);
      yield* this.plant(idle, idleTopology, this.findSupplies(this.circuit, idleTopology, idle), new Set());
    }
    const elements = buildElements(this.circuit, topology, conditions, islands, burning, this.laws);
    yield;
    const loops = findSourceLoops(this.circuit, topology);
    const devices: DcDevice[] = elements.elements.map(({ device }) =>
      loops.leftOut.has(device.reference) ? new OpenDevice(device.reference, [...device.nodes]) : device,
    );
    const firstIsland = devices.length;
    for (const island of islands) devices.push(island.device);
    const inner = new Set(islands.flatMap((island) => island.innerNodes));
    devices.push(...mainsDevices(topology, inner));
    const idleFloating = conditions.state === "idle" ? undefined : this.idleFloating;
    const reach = findReach(
      topology.nodeCount,
      devices,
      elements.sections,
      inner,
      elements.leaks,
      (node) => idleFloating !== undefined && topology.nets[node].every((net) => !idleFloating.has(net)),
    );
    if (conditions.state === "idle") {
      this.idleFloating = new Set(reach.floating.flatMap((node) => topology.nets[node]));
    }
    for (const [a, b] of reach.ties) devices.push(new ResistorDevice("", [a, b], TIE_OHMS, 0));
    yield;
    const system = new DcSystem(
      devices,
      topology.nodeCount,
      inner,
      new Set(islands.map((island) => island.device)),
    );
    const plant: Plant = {
      circuit: this.circuit,
      topology,
      elements,
      firstIsland,
      system,
      reach,
      loops,
      inner,
      shape,
      burning,
    };
    this.plants.set(conditions.state, plant);
    yield;
    return plant;
  }

  private *solvePlant(
    plant: Plant,
    conditions: Conditions,
    islands: readonly SupplyIsland[],
  ): InSteps<PlantSolution> {
    const { system } = plant;
    const x = doubles(system.size);
    this.begin(plant, conditions, x);
    const result: NewtonResult = yield* solveDcInSteps(system, x);
    if (!result.converged && !x.every(Number.isFinite)) x.fill(0);
    const islandResults = yield* finishIslands(system, plant.firstIsland, islands, x);
    const troubled = troublesOf(plant, result, islandResults);
    const unsolved = troubled && findUnsolved(plant, islands, troubled);
    return {
      plant,
      conditions,
      islands,
      x,
      jacobian: copyOf(system.values),
      result,
      islandResults,
      unsolved,
    };
  }

  /** Where to start: the same state at another level, else another state's volts where the nodes are the same. */
  private begin(plant: Plant, conditions: Conditions, x: Float64Array): void {
    const levels = (this.solved.get(conditions.state) ?? []).filter((other) => other.plant === plant);
    if (levels.length > 0) {
      const [first, second] = levels.slice(-2);
      x.set(first.x);
      if (plant.firstIsland >= plant.system.devices.length || first.islands.length === 0) return;
      const { mainsVolts } = conditions;
      const from = first.conditions.mainsVolts;
      if (second && second.conditions.mainsVolts !== from) {
        // Straight on through two levels.
        const part = (mainsVolts - from) / (second.conditions.mainsVolts - from);
        for (let i = 0; i < x.length; i++) x[i] += part * (second.x[i] - first.x[i]);
      } else if (from > 0) for (let i = 0; i < x.length; i++) x[i] *= mainsVolts / from;
      return;
    }
    const idles = this.solved.get("idle") ?? [];
    const idle = idles.find((other) => other.conditions.level === conditions.level) ?? idles.at(-1);
    if (!idle || conditions.cold || idle.plant.topology !== plant.topology) return;
    for (let n = 0; n < plant.topology.nodeCount; n++) {
      const to = plant.system.unknownOfNode[n];
      const from = idle.plant.system.unknownOfNode[n];
      if (to >= 0 && from >= 0) x[to] = idle.x[from];
    }
    // Branch currents by device.
    const branches = new Map<string, number>();
    const other = idle.plant.system;
    other.devices.forEach((device, d) => {
      if (device.branches > 0)
        branches.set(device.reference, other.unknowns[other.start[d] + device.nodes.length]);
    });
    plant.system.devices.forEach((device, d) => {
      const from = device.branches > 0 ? branches.get(device.reference) : undefined;
      if (from === undefined) return;
      const to = plant.system.unknowns[plant.system.start[d] + device.nodes.length];
      for (let b = 0; b < device.branches && from + b < idle.x.length; b++) x[to + b] = idle.x[from + b];
    });
  }
}
