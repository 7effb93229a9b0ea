/**
 * The supply chain: transformer windings, rectifiers and reservoirs as devices of the direct-current network.
 *
 * To the dc solver an island is what stands between its boundary nodes: for given currents driven in, the average volts of the
 * periodic steady state, with their slopes. Branch unknowns are those currents, so that an unloaded supply (which gives no
 * current whatever its volts below the crest) is as well-behaved as a loaded one.
 */

import { KeptWith } from "../../circuit/kept-with.ts";
import type { Circuit } from "../../circuit/model.ts";
import type { DcDevice, DeviceParameter } from "../device.ts";
import { copyOf, doubles } from "../linear/slabs.ts";
import type { Conditions } from "../states.ts";
import type { Topology } from "../topology.ts";
import type { Extended, Variation } from "./adjoint.ts";
import { Cycle, type CycleOptions } from "./cycle.ts";
import { type CircuitElements, circuitElements, type RectifierLaws } from "./elements.ts";
import { growIslands, type IslandPlan } from "./grow.ts";
import type { FindSupplies, SupplyIsland } from "./island.ts";
import { type Heating, type IslandNetwork, islandNetwork } from "./network.ts";
import type { Observation } from "./observation.ts";
import { shareKey } from "./outside.ts";
import { Observed } from "./readings.ts";
import type { CycleRecord } from "./record.ts";
import { islandParameters, Sensitivity } from "./tolerance.ts";

/** What the supplies of one set of switch positions are made of, whatever the state and mains level. */
interface Structure {
  readonly elements: CircuitElements;
  readonly plans: readonly IslandPlan[];
  /** By state: an island each. */
  readonly bodies: Map<string, readonly Body[]>;
}

/** An island in one state, at all levels: one reduced network, one cycle that goes on from where it last stood. */
export interface Body {
  readonly plan: IslandPlan;
  readonly heating: Heating;
  readonly network: IslandNetwork;
  /** Of the whole circuit. */
  readonly elements: CircuitElements;
  readonly cycle: Cycle;
  readonly estimates: readonly string[];
  /** Counts the steady states found. */
  turns: number;
  /** What is told of it, when first looked at. */
  observation?: Observation;
  /** For tolerances, when first asked for. */
  extended?: Extended;
  /** The straight lines last found in this state, by the crest of the mains; the one found last is the last one. */
  readonly lines: Map<number, Line>;
}

/** What a supply gives around some drives: averages, and their slopes, row-major by drive. */
interface Line {
  readonly peak: number;
  readonly drives: Float64Array;
  readonly means: Float64Array;
  readonly slopes: Float64Array;
}

const structures = new KeptWith<Topology, Map<string, Structure>>();

/** Never throws; gives [] for a circuit without supplies. */
export const findSupplies: FindSupplies = (circuit, topology, conditions) =>
  findSuppliesWith(circuit, topology, conditions, {});

export interface SupplyOptions extends CycleOptions {
  readonly laws?: RectifierLaws;
}

/** With a refined mesh or laws of one's own, for tests. */
export function findSuppliesWith(
  circuit: Circuit,
  topology: Topology,
  conditions: Conditions,
  options: SupplyOptions,
): readonly SupplyIsland[] {
  const { own, all } = bodiesOf(circuit, topology, conditions, options);
  return own.map((body, k) =>
    supplyIsland(conditions, body, () => {
      for (const bodies of all.values()) {
        const other = bodies[k];
        if (other !== body && other.lines.size > 0 && other.cycle.alike(body.cycle)) return other;
      }
      return undefined;
    }),
  );
}

function bodiesOf(
  circuit: Circuit,
  topology: Topology,
  conditions: Conditions,
  options: SupplyOptions,
): { readonly own: readonly Body[]; readonly all: ReadonlyMap<string, readonly Body[]> } {
  let known = structures.get(topology);
  if (!known) {
    known = new Map();
    structures.set(topology, known);
  }
  const which = `${options.refine ?? 1}`;
  let structure = known.get(which);
  if (!structure) {
    const elements = circuitElements(circuit, topology, options.laws);
    structure = { elements, plans: growIslands(circuit, topology, elements), bodies: new Map() };
    known.set(which, structure);
  }
  const { elements, plans, bodies } = structure;
  const state = `${conditions.cold} ${[...conditions.pulled].sort().join(" ")};${[...conditions.unlit].join(" ")}`;
  let own = bodies.get(state);
  if (!own) {
    own = plans.map((plan) => bodyOf(plan, elements, conditions, options));
    bodies.set(state, own);
  }
  return { own, all: bodies };
}

function bodyOf(
  plan: IslandPlan,
  elements: CircuitElements,
  conditions: Conditions,
  options: SupplyOptions,
): Body {
  const heating = { cold: conditions.cold, pulled: conditions.pulled, unlit: conditions.unlit };
  const network = islandNetwork(plan, heating);
  const observed = plan.boundary.map(({ node }) => network.multiport.volts(network.local(node), -1));
  return {
    plan,
    heating,
    network,
    elements,
    cycle: new Cycle(network.multiport, network.ports, observed, conditions.hertz, options),
    estimates: [
      ...elements.estimates.filter((sentence) =>
        [...plan.parts].some((reference) => sentence.startsWith(`${reference}:`)),
      ),
      ...estimatesOf(plan),
    ],
    turns: 0,
    lines: new Map(),
  };
}

/** While the network around it still moves, a supply need not be closer than this: its averages are then good to about its square. */
const onTheWay = 3e-4;
/** And where its load is only guessed, than this. */
const guessed = 1e-2;
/** Readings are good to this part of the amperes drawn. */
const nearEnough = 1e-4;
/** And to this part of the crest. */
const leftEnough = 3e-5;
/** Sensitivities are good to this part. */
const alikeEnough = 1e-3;

/** @param near finds the same island in another state that has been solved */
function supplyIsland(conditions: Conditions, body: Body, near: () => Body | undefined): SupplyIsland {
  const { plan, network, cycle } = body;
  const peak = conditions.mainsVolts * Math.SQRT2;
  const drives = plan.boundary.length;
  const { siemens } = network;

  // Terminals: the boundary nodes, then common where the island reaches it.
  const nodes = plan.boundary.map(({ node }) => node);
  const groups = nodes.map((node) => network.groupOf(node));
  const commonToo = groups.includes(0);
  if (commonToo) nodes.push(-1);
  const paths: [number, number][] = [];
  const firstOf = new Map<number, number>();
  if (commonToo) firstOf.set(0, drives);
  groups.forEach((group, k) => {
    const first = firstOf.get(group);
    if (first === undefined) firstOf.set(group, k);
    else paths.push([first, k]);
  });
  const size = nodes.length + drives;
  const at = nodes.length;

  // The straight line that `evaluate` gives.
  let line: Line | undefined;
  let settled = true;
  let left = Number.POSITIVE_INFINITY;
  /** Which of the body's steady states the line is for; nought for a guess. */
  let heldBy = 0;
  const renew = (into: Float64Array, close?: number): Line => {
    const steady = cycle.solve(peak, into, close);
    settled = steady.converged;
    left = steady.left;
    heldBy = ++body.turns;
    line = {
      peak,
      drives: copyOf(into),
      means: steady.means.map((volts) => (Number.isFinite(volts) ? volts : 0)),
      slopes: steady.slopes.map((slope) => (Number.isFinite(slope) ? slope : 0)),
    };
    body.lines.delete(peak);
    body.lines.set(peak, line);
    return line;
  };
  /** Where nothing is known of the island. */
  const fromRest = (): Line => {
    const first = doubles(drives);
    // A load of some size to begin with: near none at all a supply's volts are far from straight.
    const open = cycle.preview(peak);
    for (let k = 0; k < drives; k++) {
      const volts = open[k];
      if (siemens[k] > 2e-5 || !(Math.abs(volts) > 1)) continue;
      first[k] = -volts / (Math.abs(volts) > 150 ? 5e3 : 2e4);
    }
    return renew(first, guessed);
  };
  /** What to go by at first. */
  const begin = (own: Float64Array, atRest: boolean): Line => {
    let { lines } = body;
    const other = lines.size > 0 ? undefined : near();
    if (other) {
      cycle.startFrom(other.cycle);
      lines = other.lines;
    }
    const same = lines.get(peak);
    if (same) return same;
    const last = [...lines.values()].at(-1);
    if (!last) return atRest ? fromRest() : renew(own, onTheWay);
    // From two levels the third is known so well that it is looked at straight away; from one it is known in scale alone.
    if (body.lines.size > 1 && !atRest) return renew(own, onTheWay);
    const scale = peak / (last.peak || 1);
    const scaled = (values: Float64Array) => values.map((value) => value * scale);
    return { peak, drives: scaled(last.drives), means: scaled(last.means), slopes: last.slopes };
  };

  const evaluate: DcDevice["evaluate"] = (x, f, jac) => {
    const own = x.subarray(at);
    let atRest = true;
    let finite = true;
    for (let k = 0; k < drives; k++) {
      if (own[k] !== 0) atRest = false;
      if (!Number.isFinite(own[k])) finite = false;
    }
    if (!finite) atRest = true;
    if (!line) line = begin(own, atRest);
    // At rest the line stands for it: its own point is where a load is. So it does for what is as near as readings are good.
    else if (!atRest && !alike(own, line.drives)) renew(own, onTheWay);
    const { means, slopes, drives: around } = line;
    f.fill(0);
    jac.fill(0);
    for (let k = 0; k < drives; k++) {
      f[k] = own[k] - siemens[k] * x[k];
      jac[k * size + k] = -siemens[k];
      jac[k * size + at + k] = 1;
      if (commonToo) {
        f[drives] -= f[k];
        jac[drives * size + k] = siemens[k];
        jac[drives * size + at + k] = -1;
      }
      const row = at + k;
      let volts = means[k];
      for (let j = 0; j < drives; j++) {
        const slope = slopes[k * drives + j];
        volts += slope * (own[j] - around[j]);
        jac[row * size + at + j] = -slope;
      }
      f[row] = x[k] - volts;
      jac[row * size + k] = 1;
    }
  };

  let solved:
    | {
        readonly x: Float64Array;
        readonly result: Observed;
        readonly record: CycleRecord;
        sensitivity?: Sensitivity;
      }
    | undefined;
  const solvedAt = (x: Float64Array) => {
    if (solved && same(solved.x, x)) return solved;
    const own = copyOf(x, at);
    // The last cycle serves, if it was for nearly these drives and no other level has used the island since.
    const serves = line && heldBy === body.turns && left <= leftEnough && alike(own, line.drives);
    if (!serves || !cycle.meshed(peak, own)) renew(own);
    const record = cycle.record(peak, own);
    const where = copyOf(x);
    const result = new Observed(body, conditions.mainsVolts, own, record, settled);
    result.gradient = (key, reading) => {
      const variation = sensitivityAt(where).reading(key, reading);
      return variation && asGradient(variation);
    };
    result.nodeGradient = (node) => asGradient(sensitivityAt(where).of(result.nodeRecipe(node)));
    solved = { x: where, result, record };
    return solved;
  };
  const sensitivityAt = (x: Float64Array): Sensitivity => {
    // A first order asks for no cycle of its own: the one last looked at serves for all that is near it.
    const found = solved && alike(solved.x, x, alikeEnough) ? solved : solvedAt(x);
    found.sensitivity ??= new Sensitivity(body, found.result, found.record, copyOf(found.x, at));
    return found.sensitivity;
  };
  const asGradient = ({ drives: byDrive, values }: Variation) => {
    const dx = doubles(size);
    dx.set(byDrive, at);
    return { dx, dp: values };
  };
  const device = new IslandDevice(supplyName(plan), nodes, drives, paths, evaluate, () =>
    islandParameters(body, at, sensitivityAt),
  );
  return {
    device,
    parts: plan.parts,
    heaters: plan.heaters,
    innerNodes: plan.inner,
    rippleShare: (key, from) => plan.shares.get(shareKey(key, from)) ?? 1,
    look(x) {
      const own = copyOf(x, at);
      if (line && heldBy > 0 && alike(own, line.drives)) return false;
      renew(own, onTheWay);
      return true;
    },
    finish(x) {
      const before = line;
      const { result } = solvedAt(x);
      return { result, anew: line !== before };
    },
  };
}

/** An island as the network around it sees it. */
class IslandDevice implements DcDevice {
  readonly linear = false;
  private parametersKept: readonly DeviceParameter[] | undefined;
  constructor(
    readonly reference: string,
    readonly nodes: readonly number[],
    readonly branches: number,
    readonly paths: DcDevice["paths"],
    readonly evaluate: DcDevice["evaluate"],
    private readonly findParameters: () => readonly DeviceParameter[],
  ) {}
  get parameters(): readonly DeviceParameter[] {
    this.parametersKept ??= this.findParameters();
    return this.parametersKept;
  }
}

function supplyName(plan: IslandPlan): string {
  const transformer = plan.elements.find((e) => e.kind === "winding");
  return transformer ? `supply of ${transformer.reference}` : "supply";
}

/** Alike to a part of the largest. */
function alike(a: Float64Array, b: Float64Array, part = nearEnough): boolean {
  let size = 0;
  let away = 0;
  for (let k = 0; k < a.length; k++) {
    size = Math.max(size, Math.abs(b[k]));
    away = Math.max(away, Math.abs(a[k] - b[k]));
  }
  return away <= part * size;
}

function same(a: Float64Array, b: Float64Array): boolean {
  for (let k = 0; k < a.length; k++) if (a[k] !== b[k]) return false;
  return a.length === b.length;
}

/** Which figures rest on an estimate: everything that a transformer with an estimated winding gives. */
function estimatesOf(plan: IslandPlan): string[] {
  const found = new Set<string>();
  for (const element of plan.elements) {
    if (element.kind === "winding" && element.primary && !element.transformer.givesRated)
      found.add(
        `${element.windingKey}: its resistance does not let the rated currents through; every figure of this supply is computed with half of the primary's volts lost in it`,
      );
    if (element.kind === "winding" && element.estimated) {
      const source = element.winding.ohms.source ?? "common practice";
      const [basis, practice] = source.startsWith("estimated from ")
        ? source.split("; ")
        : ["estimated", source];
      found.add(
        `${element.windingKey}: the winding's resistance is ${basis} (${practice}); every figure of this supply rests on it`,
      );
    } else if (element.kind === "choke" && element.estimated) {
      found.add(`${element.key}: its resistance is estimated`);
    }
  }
  return [...found];
}
