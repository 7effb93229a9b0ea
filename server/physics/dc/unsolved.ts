/**
 * What of a circuit has no solution where sources contradict each other, or where a supply does not settle: all that a direct current
 * joins to them. Common, and the mains, part what only meets there: they stand whatever one side does.
 */
import type { Circuit, NetIndex, Part, Source } from "../../circuit/model.ts";
import { integers } from "../linear/slabs.ts";
import type { Unsolved } from "../results.ts";
import type { SupplyIsland } from "../supply/island.ts";
import type { Topology } from "../topology.ts";
import type { Plant } from "./plant.ts";

/** Why something has no solution. */
export interface Trouble {
  readonly message: string;
  readonly nets: readonly NetIndex[];
  readonly nodes: readonly number[];
  /** `joined`: all that hangs together with the nodes; `ring`: a source whose ends are one, and what joins them; `all`: everything. */
  readonly reach: "joined" | "ring" | "all";
  /** The source that contradicts others, or is short-circuited. */
  readonly source?: Source;
}

/** Only for what is unsolved: nothing here is asked of a circuit that has its solution. */
export function findUnsolved(
  plant: Plant,
  islands: readonly SupplyIsland[],
  troubles: readonly Trouble[],
): Unsolved {
  const reasons = troubles.map(({ message, nets }) => ({ message, nets }));
  if (troubles.some(({ reach }) => reach === "all")) return { ...everything(plant.circuit), reasons };
  return { whole: false, reasons, ...concerned(plant, islands, troubles) };
}

/** As if nothing had a solution. */
export function everything(circuit: Circuit): Unsolved {
  return {
    whole: true,
    reasons: [],
    nets: new Set(circuit.nets.map(({ index }) => index)),
    parts: new Set(circuit.parts.flatMap(({ reference }) => [reference, `${reference}.heater`])),
    transformers: [],
  };
}

function concerned(
  plant: Plant,
  islands: readonly SupplyIsland[],
  troubles: readonly Trouble[],
): Pick<Unsolved, "nets" | "parts" | "transformers"> {
  const { circuit, topology } = plant;
  const bad = badNodes(plant, islands, troubles);
  const isBad = (net: NetIndex | undefined): boolean => net !== undefined && bad.has(topology.node[net]);
  const nets = new Set<NetIndex>();
  for (const node of bad) for (const net of topology.nets[node]) nets.add(net);

  const troubled = islands.filter(({ device, innerNodes }) =>
    [...device.nodes, ...innerNodes].some((node) => bad.has(node)),
  );
  const inside = new Set(troubled.flatMap((island) => [...island.parts]));
  const parts = new Set<string>();
  for (const { source } of troubles) if (source) parts.add(source.reference);
  const transformers: string[] = [];
  for (const part of circuit.parts) {
    const { reference } = part;
    if (part.kind === "valve") {
      for (const { name, electrodes } of part.sections)
        if ([...electrodes.values()].some(isBad)) parts.add(name === "" ? reference : `${reference}.${name}`);
      if (part.heater?.nets.some(isBad)) parts.add(`${reference}.heater`);
    } else if (part.kind === "transformer") {
      const own = [part.primary, ...part.secondaries].flatMap((winding) => winding?.nets ?? []);
      if (!inside.has(reference) && !own.some(isBad)) continue;
      parts.add(reference);
      transformers.push(reference);
    } else if (netsOf(part).some(isBad)) parts.add(reference);
  }
  // What carries the mains to a transformer carries all that is drawn from it.
  if (transformers.length > 0) for (const reference of onMains(circuit, topology)) parts.add(reference);
  for (const { reach, nets: ends } of troubles)
    if (reach === "ring") for (const reference of between(topology, ends[0], ends[1])) parts.add(reference);
  return { nets, parts, transformers };
}

/** Everything that hangs together with a trouble's nodes, over what a direct current can pass. */
function badNodes(
  { system, topology }: Plant,
  islands: readonly SupplyIsland[],
  troubles: readonly Trouble[],
): ReadonlySet<number> {
  const parent = integers(topology.nodeCount);
  for (let n = 0; n < parent.length; n++) parent[n] = n;
  const root = (node: number): number => {
    let at = node;
    while (parent[at] !== at) {
      parent[at] = parent[parent[at]];
      at = parent[at];
    }
    return at;
  };
  const stands = (node: number): boolean =>
    node < 0 || node === topology.mains?.active || node === topology.mains?.neutral;
  const join = (nodes: readonly number[]): void => {
    const own = nodes.filter((node) => !stands(node));
    for (const node of own) parent[root(node)] = root(own[0]);
  };
  // A valve's grid too: whatever it stands at moves the plate's current.
  for (const { nodes, paths } of system.devices) if (paths?.length !== 0) join(nodes);
  for (const { device, innerNodes } of islands) join([...device.nodes, ...innerNodes]);
  const roots = new Set<number>();
  for (const { nodes, reach } of troubles)
    if (reach === "joined") for (const node of nodes) if (!stands(node)) roots.add(root(node));
  const bad = new Set<number>();
  if (roots.size > 0)
    for (let n = 0; n < parent.length; n++) if (!stands(n) && roots.has(root(n))) bad.add(n);
  return bad;
}

function netsOf(part: Part): readonly NetIndex[] {
  switch (part.kind) {
    case "output-transformer":
      return [...(part.plates?.nets ?? []), ...(part.speaker?.nets ?? [])];
    case "switch":
      return part.poles.flatMap(({ common, throws }) => [
        ...(common === undefined ? [] : [common]),
        ...throws.values(),
      ]);
    case "cord":
    case "inlet":
      return [];
    default:
      return [...part.terminals.values()];
  }
}

/** Fuses, switches, cords and what else the mains' current passes without a volt lost. */
function onMains(circuit: Circuit, { mains, node, conductors }: Topology): readonly string[] {
  if (!mains) return [];
  const live = (net: NetIndex): boolean =>
    node[net] >= 0 && [mains.active, mains.neutral].includes(node[net]);
  return [
    ...conductors.filter(({ from }) => live(from)).map(({ reference }) => reference),
    ...circuit.parts
      .filter(({ kind }) => kind === "cord" || kind === "inlet")
      .map(({ reference }) => reference),
  ];
}

/** The conductors on the shortest way from one net to another. */
function between({ conductors }: Topology, from: NetIndex, to: NetIndex): readonly string[] {
  const ways = new Map<NetIndex, readonly string[]>([[from, []]]);
  for (const [net, way] of ways) {
    if (net === to) return way;
    for (const one of conductors) {
      const next = one.from === net ? one.to : one.to === net ? one.from : undefined;
      if (next !== undefined && !ways.has(next)) ways.set(next, [...way, one.reference]);
    }
  }
  return [];
}

/** @param key of a reading, or of what hangs together with it: `C20`, `V1.a.plate`, `T1.ht.1`, `V9.heater` */
export function isUnsolved({ whole, parts }: Unsolved, key: string): boolean {
  if (whole || parts.has(key)) return true;
  // A valve's heater hangs on a winding of its own.
  if (key.endsWith(".heater")) return false;
  for (let at = key.lastIndexOf("."); at > 0; at = key.lastIndexOf(".", at - 1))
    if (parts.has(key.slice(0, at))) return true;
  return false;
}
