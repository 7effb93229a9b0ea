/**
 * Currents through what has no resistance: fuses, closed switches, wires, bonds. Where such conductors form a tree each of their
 * currents follows from Kirchhoff's current law alone; in a ring nothing decides them, and none is told.
 */

import { KeptWith } from "../../circuit/kept-with.ts";
import type { Circuit, Winding } from "../../circuit/model.ts";
import type { Readings, SolvedNetwork } from "../supply/island.ts";
import type { Conductor, Topology } from "../topology.ts";
import type { Element } from "./elements.ts";

/** What flows in a conductor from its first net to its second. */
export interface ConductorCurrent {
  readonly conductor: Conductor;
  /** Terminals of elements on the far side; the current is what they draw. */
  readonly terminals: readonly { readonly element: number; readonly terminal: number }[];
  /** 1 when the far side is the conductor's second net, -1 when its first: the sign of what flows from first to second. */
  readonly sign: 1 | -1;
  /** Direct amperes that islands draw on the far side; NaN when they cannot be told apart. */
  readonly islandAmps: number;
  /** rms amperes of windings on the far side, when that is all there is. */
  readonly rms?: number;
}

/** One net of a tree of conductors, and the conductor that leads from it towards the tree's beginning. */
interface Limb {
  /** Places of the net, and of the one that it leads to, among the tree's, which come from the beginning outwards. */
  readonly net: number;
  readonly near: number;
  readonly conductor: Conductor;
  readonly sign: 1 | -1;
  /** Terminals of elements here and further out. */
  readonly terminals: ConductorCurrent["terminals"];
  /** Windings whose rms currents meet here and further out, or all the other way, where nothing else does. */
  readonly windings?: readonly string[];
}

interface Tree {
  /** By net: what islands draw there, as pairs of an island and a terminal of its device; undefined where it cannot be told apart. */
  readonly draws: readonly (readonly (readonly [island: number, terminal: number])[] | undefined)[];
  /** Of every net but the first, from the outermost inwards. */
  readonly limbs: readonly Limb[];
}

/** The trees stand for every level of a state: they are kept by its elements. */
const known = new KeptWith<readonly Element[], readonly Tree[]>();

/** Element terminals and windings by net, and the trees of conductors. */
export function conductorCurrents(
  circuit: Circuit,
  topology: Topology,
  elements: readonly Element[],
  islands: SolvedNetwork["islands"],
): ConductorCurrent[] {
  let trees = known.get(elements);
  if (!trees) {
    trees = findTrees(circuit, topology, elements, islands);
    known.set(elements, trees);
  }
  const found: ConductorCurrent[] = [];
  for (const { draws, limbs } of trees) {
    const amps = draws.map((own) => {
      let sum = own ? 0 : Number.NaN;
      for (const [island, terminal] of own ?? []) sum += islands[island].amps[terminal];
      return sum;
    });
    for (const { net, near, conductor, sign, terminals, windings } of limbs) {
      if (conductor.key !== undefined) {
        const rms = windings && alternating(windings, islands);
        found.push({ conductor, terminals, sign, islandAmps: amps[net], rms });
      }
      amps[near] += amps[net];
    }
  }
  return found;
}

function findTrees(
  circuit: Circuit,
  topology: Topology,
  elements: readonly Element[],
  islands: SolvedNetwork["islands"],
): Tree[] {
  if (topology.conductors.every((conductor) => conductor.key === undefined)) return [];
  const edges = new Map<number, Conductor[]>();
  const touch = (net: number, conductor: Conductor): void => {
    const list = edges.get(net);
    if (list) list.push(conductor);
    else edges.set(net, [conductor]);
  };
  for (const conductor of topology.conductors) {
    touch(conductor.from, conductor);
    touch(conductor.to, conductor);
  }
  const drawn = new Map<number, { element: number; terminal: number }[]>();
  elements.forEach((element, e) => {
    element.nets.forEach((net, terminal) => {
      if (net < 0 || !edges.has(net)) return;
      const list = drawn.get(net);
      if (list) list.push({ element: e, terminal });
      else drawn.set(net, [{ element: e, terminal }]);
    });
  });
  const inside = insideTouches(circuit, islands);
  const trees: Tree[] = [];
  const seen = new Set<number>();
  for (const start of edges.keys()) {
    if (seen.has(start)) continue;
    // One set of joined nets, from `start` outwards.
    const order: number[] = [start];
    const via = new Map<number, Conductor>();
    const used = new Set<Conductor>();
    seen.add(start);
    let ring = false;
    for (let k = 0; k < order.length; k++) {
      for (const conductor of edges.get(order[k])!) {
        if (used.has(conductor)) continue;
        used.add(conductor);
        const other = conductor.from === order[k] ? conductor.to : conductor.from;
        if (seen.has(other)) {
          ring = true;
          continue;
        }
        seen.add(other);
        via.set(other, conductor);
        order.push(other);
      }
    }
    if (ring) continue;
    const place = new Map(order.map((net, k) => [net, k]));
    const sides: Side[] = order.map((net) => ({
      terminals: drawn.get(net) ?? [],
      windings: [...(inside.windings.get(net) ?? [])],
      others: (drawn.get(net)?.length ?? 0) + (inside.others.get(net) ?? 0),
    }));
    const limbs: Limb[] = [];
    const all = sides.flatMap((side) => side.windings);
    const others = sides.reduce((sum, side) => sum + side.others, 0);
    for (let k = order.length - 1; k > 0; k--) {
      const net = order[k];
      const conductor = via.get(net)!;
      const near = place.get(conductor.from === net ? conductor.to : conductor.from)!;
      const own = sides[k];
      const up = sides[near];
      limbs.push({
        net: k,
        near,
        conductor,
        sign: conductor.to === net ? 1 : -1,
        terminals: own.terminals,
        windings: meeting(own, all, others),
      });
      up.terminals = [...up.terminals, ...own.terminals];
      up.windings.push(...own.windings);
      up.others += own.others;
    }
    trees.push({ draws: islandDraws(topology, order, islands, inside), limbs });
  }
  return trees;
}

interface Side {
  terminals: readonly { element: number; terminal: number }[];
  /** Winding keys whose rms currents meet here. */
  windings: string[];
  /** What else draws here: elements and swallowed parts. */
  others: number;
}

/**
 * The windings on one side of a conductor, where nothing else hangs on that side: what is beyond it, or what is left of the tree.
 * @param all the windings of the whole tree
 * @param others how much else draws from it
 */
function meeting(beyond: Side, all: readonly string[], others: number): readonly string[] | undefined {
  if (beyond.windings.length > 0 && beyond.others === 0) return beyond.windings;
  if (others > beyond.others) return undefined;
  const rest = [...all];
  for (const key of beyond.windings) rest.splice(rest.indexOf(key), 1);
  return rest.length > 0 ? rest : undefined;
}

interface Touches {
  /** Keys of windings that end at a net: `T1.primary`, `T1.ht.1`. */
  readonly windings: ReadonlyMap<number, readonly string[]>;
  /** Swallowed parts other than windings and capacitors at a net. */
  readonly others: ReadonlyMap<number, number>;
  /** Nets where an island can draw a direct current. */
  readonly nets: readonly ReadonlySet<number>[];
}

function insideTouches(circuit: Circuit, islands: SolvedNetwork["islands"]): Touches {
  const windings = new Map<number, string[]>();
  const others = new Map<number, number>();
  const nets = islands.map(() => new Set<number>());
  islands.forEach(({ island }, k) => {
    const wind = (reference: string, winding: Winding): void => {
      const { length } = winding.nets;
      winding.nets.forEach((net, s) => {
        nets[k].add(net);
        const keys = windings.get(net) ?? [];
        const whole = `${reference}.${winding.name}`;
        if (length === 2) keys.push(whole);
        else {
          if (s > 0) keys.push(`${whole}.${s}`);
          if (s + 1 < length) keys.push(`${whole}.${s + 1}`);
        }
        windings.set(net, keys);
      });
    };
    for (const reference of island.parts) {
      const part = circuit.partByReference.get(reference);
      if (!part) continue;
      if (part.kind === "transformer") {
        if (part.primary) wind(reference, part.primary);
        for (const winding of part.secondaries) wind(reference, winding);
        continue;
      }
      if (part.kind === "capacitor") continue;
      const own = new Set<number>(part.terminals.values());
      if (part.kind === "valve") {
        for (const section of part.sections) for (const net of section.electrodes.values()) own.add(net);
        if (part.heater) for (const net of part.heater.nets) own.add(net);
      }
      for (const net of own) {
        nets[k].add(net);
        others.set(net, (others.get(net) ?? 0) + 1);
      }
    }
    // A heater fed from here draws alternating current at its nets.
    for (const reference of island.heaters) {
      const part = circuit.partByReference.get(reference);
      const heater =
        part?.kind === "valve" && part.heater ? part.heater.nets : [...(part?.terminals.values() ?? [])];
      for (const net of heater) others.set(net, (others.get(net) ?? 0) + 1);
    }
  });
  return { windings, others, nets };
}

/** What of the islands draws direct current at each of the joined nets; undefined where it cannot be told apart. */
function islandDraws(
  topology: Topology,
  nets: readonly number[],
  islands: SolvedNetwork["islands"],
  inside: Touches,
): Tree["draws"] {
  const node = topology.node[nets[0]];
  const draws: ([number, number][] | undefined)[] = nets.map(() => []);
  islands.forEach(({ island }, k) => {
    const at = nets.flatMap((net, place) => (inside.nets[k].has(net) ? [place] : []));
    const { nodes } = island.device;
    if (at.length === 1) {
      nodes.forEach((other, t) => {
        if (other === node) draws[at[0]]?.push([k, t]);
      });
    } else if (at.length > 1 && (node === -1 || nodes.includes(node))) {
      for (const place of at) draws[place] = undefined;
    }
  });
  return draws;
}

/**
 * rms of windings that meet: the halves of a centre tap conduct in turn, so their squares add; several primaries draw together, so
 * their currents add.
 */
function alternating(keys: readonly string[], islands: SolvedNetwork["islands"]): number | undefined {
  const read = (key: string): Readings | undefined => {
    for (const { result } of islands) {
      const readings = result.readings.get(key);
      if (readings?.rms !== undefined) return readings;
    }
    return undefined;
  };
  const values = keys.map((key) => read(key)?.rms);
  if (values.some((value) => value === undefined)) return undefined;
  const tapped =
    keys.every((key) => /\.\d+$/.test(key)) &&
    new Set(keys.map((key) => key.replace(/\.\d+$/, ""))).size === 1;
  if (tapped && keys.length === 2) return Math.hypot(...(values as number[]));
  return (values as number[]).reduce((sum, value) => sum + value, 0);
}
