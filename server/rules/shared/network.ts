/**
 * The resistive part of a circuit, for questions that need no valve: what resistance a grid looks into, where a bias goes when
 * a wiper lifts. Nodes of the idle topology; circuit common, the ends of rectifiers and of sources hold their volts.
 */

import { KeptWith } from "../../circuit/kept-with.ts";
import type { Circuit, NetIndex, Part } from "../../circuit/model.ts";
import { doubles } from "../../physics/linear/slabs.ts";
import type { StateName } from "../../physics/results.ts";
import { potShare } from "../../physics/topology.ts";
import { topologyOf } from "./nodes.ts";
import { sectionsOf } from "./sections.ts";

export interface Branch {
  readonly part: Part;
  readonly a: number;
  readonly b: number;
  readonly ohms: number;
  /** For a pot: which half. */
  readonly half?: "top" | "bottom" | "track";
}

export interface Change {
  /** Settings of pots by reference, 0..1. */
  readonly settings?: ReadonlyMap<string, number>;
  /** Pots whose wiper has lost its contact. */
  readonly lifted?: ReadonlySet<string>;
  /** Factor on every resistance (1.05: all five per cent high), or on each part's own. */
  readonly scale?: number | ((part: Part) => number);
}

/** Larger groups of nodes than this are cut at their edge, which is then taken as held: a grid sees no further. */
const MOST_NODES = 160;

export class Network {
  readonly circuit: Circuit;
  private readonly node: Int32Array;
  private readonly byNode = new Map<number, Part[]>();
  /** What is reached from a node. */
  private readonly reached = new Map<number, ReadonlySet<number>>();
  /** Branches at a node, as the file has them. */
  private readonly branches = new Map<number, readonly Branch[]>();
  private readonly ofPart = new Map<Part, readonly Branch[]>();
  private readonly ways = new Map<number, readonly Part[]>();
  /** Nodes that hold their volts whatever is drawn. */
  readonly held: ReadonlySet<number>;

  constructor(circuit: Circuit, state: StateName = "idle") {
    this.circuit = circuit;
    this.node = topologyOf(circuit, state).node;
    for (const part of circuit.parts) {
      for (const net of resistiveNets(part)) this.put(part, this.node[net]);
    }
    this.held = heldNodes(circuit, this.node);
  }

  private put(part: Part, at: number): void {
    const list = this.byNode.get(at);
    if (!list) this.byNode.set(at, [part]);
    else if (list[list.length - 1] !== part) list.push(part);
  }

  nodeOf(net: NetIndex): number {
    return this.node[net];
  }

  /** Branches at a node, as the file has them. */
  private branchesAt(at: number): readonly Branch[] {
    let branches = this.branches.get(at);
    if (!branches) {
      branches = this.findBranches(at, (part) => this.branchesOf(part));
      this.branches.set(at, branches);
    }
    return branches;
  }

  private findBranches(at: number, branchesOf: (part: Part) => readonly Branch[]): readonly Branch[] {
    const found: Branch[] = [];
    for (const part of this.byNode.get(at) ?? [])
      for (const branch of branchesOf(part)) if (branch.a === at || branch.b === at) found.push(branch);
    return found;
  }

  private branchesOf(part: Part): readonly Branch[] {
    let branches = this.ofPart.get(part);
    if (!branches) {
      branches = branchesOf(part, this.node, {});
      this.ofPart.set(part, branches);
    }
    return branches;
  }

  /** Branches at a node with a change made; each is one object, from whichever end it is come to. */
  private changed(change: Change): (at: number) => readonly Branch[] {
    if (!change.settings?.size && !change.lifted?.size) return (at) => this.branchesAt(at);
    const ofPart = new Map<Part, readonly Branch[]>();
    const own = (part: Part): readonly Branch[] => {
      if (
        part.kind !== "pot" ||
        !(change.settings?.has(part.reference) || change.lifted?.has(part.reference))
      )
        return this.branchesOf(part);
      let branches = ofPart.get(part);
      if (!branches) {
        branches = branchesOf(part, this.node, change);
        ofPart.set(part, branches);
      }
      return branches;
    };
    return (at) => this.findBranches(at, own);
  }

  /** Resistive parts between a net and whatever holds its volts, nearest first. */
  partsFrom(net: NetIndex): readonly Part[] {
    const start = this.node[net];
    let way = this.ways.get(start);
    if (!way) {
      way = this.findWay(start);
      this.ways.set(start, way);
    }
    return way;
  }

  private findWay(start: number): readonly Part[] {
    const found = new Set<Part>();
    const seen = new Set<number>([start]);
    for (const at of seen) {
      if (this.held.has(at) || seen.size > MOST_NODES) continue;
      for (const branch of this.branchesAt(at)) {
        found.add(branch.part);
        seen.add(branch.a === at ? branch.b : branch.a);
      }
    }
    return [...found];
  }

  /** True where a direct current can reach a node that holds its volts. */
  fixed(net: NetIndex, change: Change = {}): boolean {
    const seen = new Set<number>([this.node[net]]);
    const branchesAt = this.changed(change);
    for (const at of seen) {
      if (this.held.has(at)) return true;
      for (const branch of branchesAt(at)) seen.add(branch.a === at ? branch.b : branch.a);
    }
    return false;
  }

  /** Every node that resistance alone joins to a net, circuit common included where it is reached. */
  reachedFrom(net: NetIndex): ReadonlySet<number> {
    const known = this.reached.get(this.node[net]);
    if (known) return known;
    const seen = new Set<number>([this.node[net]]);
    for (const at of seen) {
      if (at < 0) continue;
      for (const branch of this.branchesAt(at)) seen.add(branch.a === at ? branch.b : branch.a);
    }
    // Nothing is followed through common, so that each of them reaches the same.
    for (const at of seen) if (at >= 0) this.reached.set(at, seen);
    return seen;
  }

  /** The way of least resistance from a net to circuit common, its parts nearest first; undefined where resistance leads to none. */
  wayToCommon(net: NetIndex): { readonly parts: readonly Part[]; readonly ohms: number } | undefined {
    const start = this.node[net];
    const reached = new Map<number, { ohms: number; by?: Branch; from?: number }>([[start, { ohms: 0 }]]);
    const done = new Set<number>();
    for (;;) {
      let at: number | undefined;
      for (const [node, { ohms }] of reached)
        if (!done.has(node) && (at === undefined || ohms < (reached.get(at)?.ohms ?? 0))) at = node;
      if (at === undefined || done.size > MOST_NODES) return undefined;
      const here = reached.get(at)?.ohms ?? 0;
      if (at === -1) break;
      done.add(at);
      for (const branch of this.branchesAt(at)) {
        const to = branch.a === at ? branch.b : branch.a;
        const ohms = here + branch.ohms;
        if (ohms < (reached.get(to)?.ohms ?? Number.POSITIVE_INFINITY))
          reached.set(to, { ohms, by: branch, from: at });
      }
    }
    const parts: Part[] = [];
    for (let step = reached.get(-1); step?.by; step = reached.get(step.from ?? -1))
      parts.unshift(step.by.part);
    return { parts: [...new Set(parts)], ohms: reached.get(-1)?.ohms ?? 0 };
  }

  /**
   * Volts of nets when amperes are pushed into some, every held node at the volts given (0 where it has none).
   * @returns undefined where one of the nets has no way to a held node
   */
  solve(
    into: ReadonlyMap<NetIndex, number>,
    asked: readonly NetIndex[],
    volts: (node: number) => number,
    change: Change = {},
  ): readonly number[] | undefined {
    const index = new Map<number, number>();
    const reach = (at: number) => {
      if (!index.has(at)) index.set(at, index.size);
    };
    for (const net of [...into.keys(), ...asked]) reach(this.node[net]);
    const branchesAt = this.changed(change);
    const branches = new Set<Branch>();
    const cut = new Set<number>();
    for (const at of index.keys()) {
      if (this.held.has(at)) continue;
      if (index.size > MOST_NODES) {
        cut.add(at);
        continue;
      }
      for (const branch of branchesAt(at)) {
        if (branches.has(branch)) continue;
        branches.add(branch);
        reach(branch.a === at ? branch.b : branch.a);
      }
    }
    const size = index.size;
    const wide = size + 1;
    const matrix = doubles(size * wide);
    const { scale = 1 } = change;
    const factorOf = typeof scale === "number" ? () => scale : scale;
    const isHeld = (at: number) => this.held.has(at) || cut.has(at);
    for (const branch of branches) {
      const [a, b] = [index.get(branch.a) ?? 0, index.get(branch.b) ?? 0];
      const siemens = 1 / (Math.max(branch.ohms, 1e-6) * factorOf(branch.part));
      matrix[a * wide + a] += siemens;
      matrix[b * wide + b] += siemens;
      matrix[a * wide + b] -= siemens;
      matrix[b * wide + a] -= siemens;
    }
    for (const [net, amps] of into) matrix[(index.get(this.node[net]) ?? 0) * wide + size] += amps;
    for (const [at, row] of index) {
      if (!isHeld(at)) continue;
      matrix.fill(0, row * wide, (row + 1) * wide);
      matrix[row * wide + row] = 1;
      matrix[row * wide + size] = at < 0 ? 0 : volts(at);
    }
    const x = eliminate(matrix, size);
    return x && asked.map((net) => x[index.get(this.node[net]) ?? 0]);
  }
}

/** Nets of a part between which direct current passes by resistance. */
function resistiveNets(part: Part): Iterable<NetIndex> {
  switch (part.kind) {
    case "resistor":
    case "pot":
    case "choke":
    case "thermistor":
    case "speaker":
      return part.terminals.values();
    case "transformer":
      return [part.primary, ...part.secondaries].flatMap((winding) => winding?.nets ?? []);
    case "output-transformer":
      return [...(part.plates?.nets ?? []), ...(part.speaker?.nets ?? [])];
    default:
      return NO_NETS;
  }
}

const NO_NETS: readonly NetIndex[] = [];

function branchesOf(part: Part, node: Int32Array, change: Change): Branch[] {
  const between = (
    a: NetIndex | undefined,
    b: NetIndex | undefined,
    ohms: number,
    half?: Branch["half"],
  ): Branch[] =>
    a === undefined || b === undefined || node[a] === node[b] || !Number.isFinite(ohms)
      ? []
      : [{ part, a: node[a], b: node[b], ohms: Math.max(ohms, 0), half }];
  const at = (name: string) => part.terminals.get(name);
  switch (part.kind) {
    case "resistor":
    case "choke":
    case "speaker":
      return between(at("a"), at("b"), part.ohms.value);
    case "thermistor":
      return between(at("a"), at("b"), (part.hotOhms ?? part.ohms).value);
    case "pot": {
      const share = potShare(change.settings?.get(part.reference) ?? part.setting.value);
      const wiper = change.lifted?.has(part.reference) ? undefined : at("wiper");
      if (wiper === undefined) return between(at("top"), at("bottom"), part.ohms.value, "track");
      return [
        ...between(at("top"), wiper, part.ohms.value * (1 - share), "top"),
        ...between(wiper, at("bottom"), part.ohms.value * share, "bottom"),
      ];
    }
    case "transformer":
      return eachOnce(
        [part.primary, ...part.secondaries].flatMap((winding) =>
          (winding?.nets ?? []).slice(1).flatMap((net, i) => {
            const all = winding?.segmentVolts.reduce((sum, v) => sum + Math.abs(v), 0) || 1;
            const share = Math.abs(winding?.segmentVolts[i] ?? 0) / all;
            return between(winding?.nets[i], net, (winding?.ohms.value ?? 0) * share);
          }),
        ),
      );
    case "output-transformer": {
      const row = (nets: readonly NetIndex[], ohms: number) =>
        nets.slice(1).flatMap((net, i) => between(nets[i], net, ohms / (nets.length - 1)));
      return eachOnce([
        ...row(part.plates?.nets ?? [], part.plates?.resistance.value ?? 0),
        ...row(part.speaker?.nets ?? [], part.speaker?.resistance.value ?? 0),
      ]);
    }
    default:
      return [];
  }
}

/** Of a part's segments between the same nodes the first. */
const eachOnce = (branches: readonly Branch[]): Branch[] =>
  branches.filter(
    ({ a, b }, index) => branches.findIndex((other) => other.a === a && other.b === b) === index,
  );

/** Circuit common, what rectifiers give, what sources hold, and a stage's plate: its valve holds it. */
function heldNodes(circuit: Circuit, node: Int32Array): ReadonlySet<number> {
  const held = new Set<number>([-1]);
  for (const net of heldNets(circuit)) held.add(node[net]);
  return held;
}

const heldKept = new KeptWith<Circuit, ReadonlySet<NetIndex>>();

/** The same by nets, whatever the switches do; of circuit common the net that stands for it. */
export function heldNets(circuit: Circuit): ReadonlySet<NetIndex> {
  const known = heldKept.get(circuit);
  if (known) return known;
  const held = new Set<NetIndex>();
  const hold = (net: NetIndex | undefined) => {
    if (net !== undefined) held.add(net);
  };
  hold(topologyOf(circuit).common.net);
  for (const part of circuit.parts) {
    switch (part.kind) {
      case "source":
      case "diode":
      case "zener":
      case "bridge":
        for (const net of part.terminals.values()) hold(net);
        break;
      case "transformer":
        // A winding's own ends alternate about a held average.
        break;
    }
  }
  for (const section of sectionsOf(circuit)) {
    if (section.rectifier) for (const net of section.section.electrodes.values()) hold(net);
    // A cathode follower holds its cathode, any cathode and plate stand at a low resistance.
    hold(section.cathode);
    hold(section.plate);
  }
  heldKept.set(circuit, held);
  return held;
}

const networks = new KeptWith<Circuit, Map<StateName, Network>>();

/** The network with the switches as they stand in a state (idle where left out), built once. */
export function networkOf(circuit: Circuit, state: StateName = "idle"): Network {
  let byState = networks.get(circuit);
  if (!byState) {
    byState = new Map();
    networks.set(circuit, byState);
  }
  let network = byState.get(state);
  if (!network) {
    network = new Network(circuit, state);
    byState.set(state, network);
  }
  return network;
}

/**
 * Gaussian elimination with partial pivoting, in place; undefined where it is singular.
 * @param m row-major, `size` rows of `size + 1`: the right-hand side is the last column
 */
function eliminate(m: Float64Array, size: number): Float64Array | undefined {
  const wide = size + 1;
  for (let column = 0; column < size; column++) {
    let pivot = column;
    for (let row = column + 1; row < size; row++)
      if (Math.abs(m[row * wide + column]) > Math.abs(m[pivot * wide + column])) pivot = row;
    const top = column * wide;
    if (!(Math.abs(m[pivot * wide + column]) > 1e-15)) return undefined;
    if (pivot !== column) {
      for (let k = column; k <= size; k++) {
        const other = m[pivot * wide + k];
        m[pivot * wide + k] = m[top + k];
        m[top + k] = other;
      }
    }
    for (let row = column + 1; row < size; row++) {
      const at = row * wide;
      if (m[at + column] === 0) continue;
      const factor = m[at + column] / m[top + column];
      for (let k = column; k <= size; k++) m[at + k] -= factor * m[top + k];
    }
  }
  const x = doubles(size);
  for (let row = size - 1; row >= 0; row--) {
    let sum = m[row * wide + size];
    for (let k = row + 1; k < size; k++) sum -= m[row * wide + k] * x[k];
    x[row] = sum / m[row * wide + row];
  }
  return x;
}
