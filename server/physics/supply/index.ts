/**
 * The supply chain: transformer windings, rectifiers and reservoirs as devices of the direct-current network.
 *
 * To the dc solver an island is what stands between its boundary nodes: for given currents driven in, the average volts of the
 * periodic steady state, with their slopes. Branch unknowns are those currents, so that an unloaded supply (which gives no
 * current whatever its volts below the crest) is as well-behaved as a loaded one.
 */
import type { Circuit } from "../../circuit/model.ts";
import type { DcDevice, DeviceParameter } from "../device.ts";
import type { Conditions } from "../states.ts";
import type { Topology } from "../topology.ts";
import type { Extended, Variation } from "./adjoint.ts";
import { Cycle, type CycleOptions, type CycleRecord } from "./cycle.ts";
import { type CircuitElements, circuitElements, type RectifierLaws } from "./elements.ts";
import { growIslands, type IslandPlan } from "./grow.ts";
import type { FindSupplies, IslandResult, SupplyIsland } from "./island.ts";
import { type Heating, type IslandNetwork, islandNetwork } from "./network.ts";
import { type Observed, observe } from "./readings.ts";
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
  readonly cycle: Cycle;
  readonly estimates: readonly string[];
  /** Counts the steady states found. */
  turns: number;
  /** For tolerances, when first asked for. */
  extended?: Extended;
  /** Drives of the last solution, and its peak: where to start the next level. */
  last?: { readonly drives: Float64Array; readonly peak: number };
}

const structures = new WeakMap<Topology, Map<string, Structure>>();

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
  return bodiesOf(circuit, topology, conditions, options).map((body) => supplyIsland(conditions, body));
}

function bodiesOf(
  circuit: Circuit,
  topology: Topology,
  conditions: Conditions,
  options: SupplyOptions,
): readonly Body[] {
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
  const state = `${conditions.cold} ${[...conditions.pulled].sort().join(" ")}`;
  let own = bodies.get(state);
  if (!own) {
    const others = [...bodies.values()];
    own = plans.map((plan, k) => {
      const body = bodyOf(plan, elements, conditions, options);
      // Another state of the same switches stands near.
      const near = others.map((list) => list[k]).find((other) => other.last && other.cycle.alike(body.cycle));
      if (near) {
        body.cycle.startFrom(near.cycle);
        body.last = near.last;
      }
      return body;
    });
    bodies.set(state, own);
  }
  return own;
}

function bodyOf(
  plan: IslandPlan,
  elements: CircuitElements,
  conditions: Conditions,
  options: SupplyOptions,
): Body {
  const heating = { cold: conditions.cold, pulled: conditions.pulled };
  const network = islandNetwork(plan, heating);
  const observed = plan.boundary.map(({ node }) => network.multiport.volts(network.local(node), -1));
  return {
    plan,
    heating,
    network,
    cycle: new Cycle(network.multiport, network.ports, observed, conditions.hertz, options),
    estimates: [
      ...elements.estimates.filter((sentence) =>
        [...plan.parts].some((reference) => sentence.startsWith(`${reference}:`)),
      ),
      ...estimatesOf(plan),
    ],
    turns: 0,
  };
}

/** While the network around it still moves, a supply need not be closer than this: its averages are then good to about its square. */
const onTheWay = 3e-4;
/** Readings are good to this part. */
const nearEnough = 1e-5;
/** Sensitivities are good to this part. */
const alikeEnough = 1e-3;

function supplyIsland(conditions: Conditions, body: Body): SupplyIsland {
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

  // The straight line that `evaluate` gives: average volts and slopes at some drives.
  const line = {
    drives: new Float64Array(drives),
    means: new Float64Array(drives),
    slopes: new Float64Array(0),
  };
  let settled = true;
  let left = Number.POSITIVE_INFINITY;
  let heldBy = 0;
  const renew = (into: Float64Array, close?: number): void => {
    const steady = cycle.solve(peak, into, close);
    settled = steady.converged;
    left = steady.left;
    heldBy = ++body.turns;
    line.drives.set(into);
    for (let k = 0; k < drives; k++) line.means[k] = Number.isFinite(steady.means[k]) ? steady.means[k] : 0;
    line.slopes = steady.slopes.map((slope) => (Number.isFinite(slope) ? slope : 0));
    body.last = { drives: line.drives.slice(), peak };
  };
  let begun = false;
  const begin = (): void => {
    begun = true;
    const first = new Float64Array(drives);
    const { last } = body;
    if (last) {
      for (let k = 0; k < drives; k++) first[k] = (last.drives[k] * peak) / (last.peak || 1);
      renew(first, onTheWay);
      return;
    }
    // A load of some size to begin with: near none at all a supply's volts are far from straight.
    const open = cycle.preview(peak);
    for (let k = 0; k < drives; k++) {
      const volts = open[k];
      if (siemens[k] > 2e-5 || !(Math.abs(volts) > 1)) continue;
      first[k] = -volts / (Math.abs(volts) > 150 ? 5e3 : 2e4);
    }
    renew(first, onTheWay);
  };

  const evaluate: DcDevice["evaluate"] = (x, f, jac) => {
    const own = x.subarray(at);
    let atRest = true;
    let away = 0;
    for (let k = 0; k < drives; k++) {
      if (own[k] !== 0) atRest = false;
      if (!Number.isFinite(own[k])) atRest = true;
    }
    if (!begun) {
      if (atRest) begin();
      else {
        begun = true;
        renew(own, onTheWay);
      }
    }
    // At rest the line stands for it: its own point is where a load is.
    if (!atRest) {
      for (let k = 0; k < drives; k++) {
        const d = Math.abs(own[k] - line.drives[k]);
        if (d > away) away = d;
      }
      if (away > 0) renew(own, onTheWay);
    }
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
      let volts = line.means[k];
      for (let j = 0; j < drives; j++) {
        const slope = line.slopes[k * drives + j];
        volts += slope * (own[j] - line.drives[j]);
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
    const own = x.slice(at);
    // The last cycle serves, if it was for nearly these drives and no other level has used the island since.
    if (!begun || heldBy !== body.turns || left > nearEnough || !near(own, line.drives)) renew(own);
    begun = true;
    const record = cycle.record(peak, own);
    solved = { x: x.slice(), result: observe(body, conditions.mainsVolts, own, record, settled), record };
    return solved;
  };
  const sensitivityAt = (x: Float64Array): Sensitivity => {
    // A first order asks for no cycle of its own: the one last looked at serves for all that is near it.
    const found = solved && near(solved.x, x, alikeEnough) ? solved : solvedAt(x);
    found.sensitivity ??= new Sensitivity(body, found.result, found.record, found.x.slice(at));
    return found.sensitivity;
  };
  const asGradient = ({ drives: byDrive, values }: Variation) => {
    const dx = new Float64Array(size);
    dx.set(byDrive, at);
    return { dx, dp: values };
  };
  let parameters: readonly DeviceParameter[] | undefined;

  const device: DcDevice = {
    reference: supplyName(plan),
    nodes,
    branches: drives,
    linear: false,
    evaluate,
    paths,
    get parameters() {
      parameters ??= islandParameters(body, at, sensitivityAt);
      return parameters;
    },
  };
  return {
    device,
    parts: plan.parts,
    heaters: plan.heaters,
    innerNodes: plan.inner,
    finish(x): IslandResult {
      const where = x.slice();
      const { result } = solvedAt(where);
      return {
        ...result,
        gradient(key, reading) {
          const variation = sensitivityAt(where).reading(key, reading);
          return variation && asGradient(variation);
        },
        nodeGradient(node) {
          return asGradient(sensitivityAt(where).of(result.nodeTerms(node)));
        },
      };
    },
  };
}

function supplyName(plan: IslandPlan): string {
  const transformer = plan.elements.find((e) => e.kind === "winding");
  return transformer ? `supply of ${transformer.reference}` : "supply";
}

/** Alike to a part of the largest. */
function near(a: Float64Array, b: Float64Array, part = nearEnough): boolean {
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
    if (element.kind === "winding" && element.estimated) {
      const source = element.winding.ohms.source ?? "common practice";
      found.add(
        `${element.windingKey}: its resistance is estimated (${source}); every figure of this supply rests on it`,
      );
    } else if (element.kind === "choke" && element.estimated) {
      found.add(`${element.key}: its resistance is estimated`);
    }
  }
  return [...found];
}
