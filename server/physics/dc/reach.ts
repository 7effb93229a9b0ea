/**
 * Which nets a direct current can reach. What no path ties to common is tied there by one conductance that carries nothing (one
 * link cannot carry a current), so that the equations have a solution and the rest of it stays exact; its volts are then told as
 * unknown. The same tie with a better reason is the leakage of cold valves and of capacitors: what is dead because nothing is
 * warm yet stands at what it leaks to.
 */
import type { DcDevice } from "../device.ts";
import { integers } from "../linear/slabs.ts";
import { CATHODE, GRID, PLATE, SCREEN, type SectionDevice } from "./devices.ts";

export interface Reach {
  /** Nodes that nothing fixes. */
  readonly floating: readonly number[];
  /** Pairs of nodes (-1 for common) to tie by a conductance that carries nothing. */
  readonly ties: readonly (readonly [number, number])[];
  /** Number of the set of joined nodes that a node belongs to. */
  group(node: number): number;
}

/**
 * @param sections      valve sections; electrodes that nothing fixes are released here
 * @param leaks         pairs of nodes joined by a capacitor or a cold valve
 * @param excused       nodes that are fixed when everything is warm: dead here, not floating
 */
export function findReach(
  nodeCount: number,
  devices: readonly DcDevice[],
  sections: readonly SectionDevice[],
  inner: ReadonlySet<number>,
  leaks: readonly (readonly [number, number])[],
  excused: (node: number) => boolean,
): Reach {
  const groups = new Groups(nodeCount + 1);
  const sectionSet = new Set<DcDevice>(sections);
  for (const device of devices) {
    if (sectionSet.has(device)) continue;
    const { nodes, paths } = device;
    if (paths) {
      for (const [a, b] of paths) {
        const from = a < 0 ? -1 : nodes[a];
        groups.join(from + 1, (b < 0 ? -1 : nodes[b]) + 1);
      }
    } else {
      for (let t = 1; t < nodes.length; t++) groups.join(nodes[0] + 1, nodes[t] + 1);
    }
  }

  // Groups that valves alone join to the rest, and where no current can come and go: those that hang on one section, and those
  // that have plates and screens alone (current only leaves) or cathodes alone (it only arrives).
  const ends = [PLATE, SCREEN, CATHODE];
  const live = sections.map((section) => ends.map((terminal) => groups.root(section.nodes[terminal] + 1)));
  const holders = new Map<number, Set<number>>();
  live.forEach((roots, s) => {
    if (roots.every((root) => root === roots[0])) return;
    for (const root of roots) {
      let set = holders.get(root);
      if (!set) {
        set = new Set();
        holders.set(root, set);
      }
      set.add(s);
    }
  });
  const common = groups.root(0);
  const deadEnds = new Set<number>();
  const silent = new Set<number>();
  const isDeadEnd = (root: number): boolean => {
    const set = holders.get(root)!;
    if (root === common || set.size === 0) return false;
    if (set.size === 1) return true;
    let arrives = false;
    let leaves = false;
    for (const s of set) {
      if (live[s][2] === root) arrives = true;
      if (live[s][0] === root || live[s][1] === root) leaves = true;
    }
    return !arrives || !leaves;
  };
  const queue = [...holders.keys()].filter(isDeadEnd);
  while (queue.length > 0) {
    const root = queue.pop()!;
    if (deadEnds.has(root) || !isDeadEnd(root)) continue;
    deadEnds.add(root);
    const set = holders.get(root)!;
    for (const s of set) {
      // The section is left with its other electrodes; with fewer than two groups it joins nothing any more.
      const others = new Set(live[s].filter((other) => !deadEnds.has(other)));
      const cathodeGone = live[s][2] === root;
      if (cathodeGone) silent.add(s);
      if (others.size >= 2 && !cathodeGone) {
        for (const other of others) queue.push(other);
        continue;
      }
      for (const other of others) {
        if (holders.get(other)?.delete(s)) queue.push(other);
      }
    }
    set.clear();
  }
  sections.forEach((section, s) => {
    [PLATE, SCREEN, CATHODE].forEach((terminal, k) => {
      if (terminal === CATHODE) return;
      if (silent.has(s) || (deadEnds.has(live[s][k]) && live[s][k] !== live[s][2])) section.release(terminal);
    });
    if (silent.has(s)) section.release(GRID);
  });

  // What is joined in the end, warm valves included.
  sections.forEach((section, s) => {
    if (silent.has(s)) return;
    groups.join(section.nodes[PLATE] + 1, section.nodes[CATHODE] + 1);
    groups.join(section.nodes[SCREEN] + 1, section.nodes[CATHODE] + 1);
  });
  const ties: (readonly [number, number])[] = [];
  const dead = new Set<number>();
  const isDead = (root: number): boolean => dead.has(root);
  const members = new Map<number, number[]>();
  for (let n = 0; n < nodeCount; n++) {
    if (inner.has(n)) continue;
    const root = groups.root(n + 1);
    if (root === groups.root(0)) continue;
    const list = members.get(root);
    if (list) list.push(n);
    else members.set(root, [n]);
  }
  for (const [root, nodes] of members) if (nodes.every(excused)) dead.add(root);
  if (dead.size > 0) {
    for (const [a, b] of leaks) {
      const from = groups.root(a + 1);
      const to = groups.root(b + 1);
      if (from === to) continue;
      const fixed = groups.root(0);
      const may = (root: number): boolean => root === fixed || isDead(root);
      if (!may(from) || !may(to)) continue;
      ties.push([a, b]);
      groups.join(a + 1, b + 1);
      const joined = groups.root(a + 1);
      if (joined !== groups.root(0)) dead.add(joined);
    }
  }
  const floating: number[] = [];
  const tied = new Set<number>();
  for (const nodes of members.values()) {
    const root = groups.root(nodes[0] + 1);
    if (root === groups.root(0)) continue;
    if (!tied.has(root)) {
      tied.add(root);
      ties.push([nodes[0], -1]);
    }
    if (!isDead(root)) for (const node of nodes) floating.push(node);
  }

  // A grid with no path of its own is taken at its cathode.
  const adrift = new Set(floating);
  for (const section of sections) {
    const grid = section.nodes[GRID];
    if (adrift.has(grid) && groups.root(grid + 1) !== groups.root(section.nodes[CATHODE] + 1)) {
      section.release(GRID);
    }
  }
  floating.sort((a, b) => a - b);
  return { floating, ties, group: (node) => groups.root(node + 1) };
}

class Groups {
  private readonly parent: Int32Array;
  constructor(size: number) {
    this.parent = integers(size);
    for (let k = 0; k < size; k++) this.parent[k] = k;
  }
  root(k: number): number {
    const parent = this.parent;
    let r = k;
    while (parent[r] !== r) {
      parent[r] = parent[parent[r]];
      r = parent[r];
    }
    return r;
  }
  /** Afterwards the root of both is that of b; common (0) stays a root of its own choosing. */
  join(a: number, b: number): void {
    const from = this.root(a);
    const to = this.root(b);
    if (from !== to) this.parent[from] = to;
  }
}
