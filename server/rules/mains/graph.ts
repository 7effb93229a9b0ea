/**
 * The mains side as a graph of nets. Conductors run from the cord or inlet through fuses, switches, filters and
 * selectors to the primaries; loads (primaries, lamps) hang between them. Followed in every position of every switch
 * that sits on it.
 */

import { KeptWith } from "../../circuit/kept-with.ts";
import type {
  Circuit,
  CordOrInlet,
  Fuse,
  NetIndex,
  Part,
  Switch,
  Transformer,
  Winding,
} from "../../circuit/model.ts";
import { mainsSeries } from "../../facts/practice.ts";
import { mainsWindings } from "../../physics/mains-windings.ts";
import { called, partsOn } from "../frame/index.ts";

/** What joins two nets. `conductor`: carries the mains current onwards; `load`: passes current; `blocks`: a capacitor. */
export interface Edge {
  readonly part: Part;
  /** `S1`, `T1.primary`: how the way is written. */
  readonly label: string;
  readonly to: NetIndex;
  readonly manner: "conductor" | "load" | "leak" | "blocks";
  readonly fuse: boolean;
  /** Positions of the switch in which this way is closed. */
  readonly closedIn?: ReadonlySet<string>;
}

export type Positions = ReadonlyMap<string, string>;

export interface Primary {
  readonly transformer: Transformer;
  readonly winding: Winding;
  /** All of its windings that stand on the mains: the primary first, and mostly alone. */
  readonly windings: readonly Winding[];
  readonly nets: readonly NetIndex[];
  readonly label: string;
}

export interface MainsSide {
  readonly circuit: Circuit;
  readonly entries: readonly CordOrInlet[];
  readonly active: readonly NetIndex[];
  readonly neutral: readonly NetIndex[];
  readonly earth: readonly NetIndex[];
  /** Common, chassis, declared metal and earth cores, and what wires and bonds join to them. */
  readonly earthy: ReadonlySet<NetIndex>;
  /** Every net that the mains can come to through anything but a transformer's isolation. */
  readonly nets: ReadonlySet<NetIndex>;
  readonly edges: ReadonlyMap<NetIndex, readonly Edge[]>;
  readonly primaries: readonly Primary[];
  readonly fuses: readonly Fuse[];
  readonly switches: readonly Switch[];
  /** Those whose off position is to take the amplifier off the mains. */
  readonly mainsSwitches: readonly Switch[];
  /** Every combination of positions; only those of the running amplifier and its off positions past the bound. */
  readonly positions: readonly Positions[];
  /** Number of combinations where it is past the bound. */
  readonly tooMany?: number;
}

export const MOST_COMBINATIONS = 2 ** 12;
const built = new KeptWith<Circuit, MainsSide | undefined>();

/** The mains side, built once per circuit; undefined where the file has no cord or inlet with an active or a neutral. */
export function mainsSide(circuit: Circuit): MainsSide | undefined {
  if (!built.has(circuit)) built.set(circuit, build(circuit));
  return built.get(circuit);
}

function build(circuit: Circuit): MainsSide | undefined {
  const entries = circuit.parts.filter((p): p is CordOrInlet => p.kind === "cord" || p.kind === "inlet");
  const leads = (role: "active" | "neutral" | "earth") =>
    entries.flatMap((entry) => entry.leads.get(role)?.net ?? []);
  const [active, neutral, earth] = [leads("active"), leads("neutral"), leads("earth")];
  if (active.length + neutral.length === 0) return undefined;

  const base = new Set<NetIndex>([...earth, ...circuit.metals.map((metal) => metal.net)]);
  if (circuit.ground !== undefined) base.add(circuit.ground);
  if (circuit.chassis !== undefined) base.add(circuit.chassis);

  const edges = new Map<NetIndex, readonly Edge[]>();
  const edgesOf = (net: NetIndex): readonly Edge[] => {
    const known = edges.get(net);
    if (known) return known;
    const found = partsOn(circuit, net).flatMap((part) => edgesFrom(part, net, called(circuit, part)));
    edges.set(net, found);
    return found;
  };

  const nets = new Set<NetIndex>([...active, ...neutral]);
  for (const net of nets) {
    if (base.has(net)) continue;
    for (const edge of edgesOf(net)) nets.add(edge.to);
  }
  // The reached edges of the metalwork are not the mains side; the nets themselves are, as ends of ways that cross.
  const earthy = new Set(base);
  for (const net of earthy) {
    for (const part of partsOn(circuit, net)) {
      if (part.kind !== "wire" && part.kind !== "bond") continue;
      for (const other of part.terminals.values()) if (!nets.has(other)) earthy.add(other);
    }
  }
  for (const net of earthy) nets.delete(net);

  const onSide = new Set<Part>();
  for (const net of nets) for (const part of partsOn(circuit, net)) onSide.add(part);
  const parts = circuit.parts.filter((part) => onSide.has(part));
  const switches = parts.filter((part): part is Switch => part.kind === "switch");
  const primaries = parts.flatMap((part): Primary[] => {
    if (part.kind !== "transformer" || !part.primary?.nets.some((net) => nets.has(net))) return [];
    const winding = part.primary;
    const windings = mainsWindings(circuit).get(part) ?? [winding];
    return [
      {
        transformer: part,
        winding,
        windings,
        nets: windings.flatMap((own) => own.nets),
        label: `${part.reference}.${winding.name}`,
      },
    ];
  });
  const count = switches.reduce((product, part) => product * Math.max(1, part.positions.length), 1);
  const tooMany = count > MOST_COMBINATIONS ? count : undefined;
  const side: MainsSide = {
    circuit,
    entries,
    active,
    neutral,
    earth,
    earthy,
    nets,
    edges,
    primaries,
    fuses: parts.filter((part): part is Fuse => part.kind === "fuse"),
    switches,
    mainsSwitches: [],
    positions: tooMany ? oneByOne(switches) : combinations(switches),
    tooMany,
  };
  return { ...side, mainsSwitches: mainsSwitchesOf(side) };
}

/**
 * Those named so; where none is, every switch that can be off but for one that moves something between the conductors (a ground
 * switch), and one for standby alone, which is a mains switch where nothing is left on a conductor behind it.
 */
function mainsSwitchesOf(side: MainsSide): readonly Switch[] {
  const able = side.switches.filter((part) => offPositions(part).length > 0);
  const named = side.switches.filter((part) => part.duty === "mains");
  if (named.length > 0) return named.filter((part) => offPositions(part).length > 0);
  const own = able.filter((part) => part.duty !== "standby" && !changesOver(side, part));
  if (own.length > 0) return own;
  return able.filter(
    (part) =>
      part.duty === "standby" &&
      [side.active, side.neutral].some(
        (from) => firstLoad(side, reach(side, from, { without: part })) === undefined,
      ),
  );
}

/** True for a switch that has active and neutral on two throws of a pole. */
function changesOver(side: MainsSide, part: Switch): boolean {
  const [active, neutral] = [side.active, side.neutral].map((from) => reach(side, from, { without: part }));
  return part.poles.some((pole) => {
    const throws = [...pole.throws.values()];
    return throws.some((net) => active.has(net)) && throws.some((net) => neutral.has(net));
  });
}

/** The first load that a conductor has come to, a primary before any other, and the net that it hangs on. */
export function firstLoad(
  side: MainsSide,
  reached: Reach,
): { readonly edge: Edge; readonly on: NetIndex } | undefined {
  let other: { readonly edge: Edge; readonly on: NetIndex } | undefined;
  for (const net of reached.keys()) {
    if (side.earthy.has(net)) continue;
    for (const edge of side.edges.get(net) ?? []) {
      if (edge.manner !== "load") continue;
      if (edge.part.kind === "transformer") return { edge, on: net };
      other ??= { edge, on: net };
    }
  }
  return other;
}

/** Positions in which a mains switch is meant to have the amplifier off. */
export function offPositions(part: Switch): readonly string[] {
  for (const name of ["off", "centre"]) if (part.positions.includes(name)) return [name];
  // A changeover of which one throw is left bare.
  if (part.duty !== "mains") return [];
  return part.positions.filter((position) => part.poles.every((pole) => !pole.throws.has(position)));
}

function edgesFrom(part: Part, net: NetIndex, name: string): Edge[] {
  const found: Edge[] = [];
  const add = (to: NetIndex | undefined, manner: Edge["manner"], label = name, extra?: Partial<Edge>) => {
    if (to !== undefined && to !== net) found.push({ part, label, to, manner, fuse: false, ...extra });
  };
  const across = (manner: Edge["manner"], extra?: Partial<Edge>) => {
    for (const to of part.terminals.values()) add(to, manner, name, extra);
  };
  switch (part.kind) {
    case "wire":
    case "bond":
    case "thermistor":
    case "choke":
      across("conductor");
      break;
    case "fuse":
      across("conductor", { fuse: true });
      break;
    case "resistor":
      across(part.ohms.value <= mainsSeries.mostOhms ? "conductor" : "leak");
      break;
    case "lamp":
      across(part.neon ? "leak" : "load");
      break;
    case "diode":
    case "zener":
    case "bridge":
    case "speaker":
    case "source":
      across("load");
      break;
    case "pot":
      across("leak");
      break;
    case "capacitor":
      across("blocks");
      break;
    case "switch":
      for (const pole of part.poles) {
        for (const [position, throwNet] of pole.throws) {
          const extra = { closedIn: new Set([position]) };
          if (pole.common === net) add(throwNet, "conductor", part.reference, extra);
          else if (throwNet === net) add(pole.common, "conductor", part.reference, extra);
        }
      }
      break;
    case "transformer":
      for (const winding of [part.primary, ...part.secondaries]) {
        if (!winding?.nets.includes(net)) continue;
        for (const to of winding.nets) add(to, "load", `${part.reference}.${winding.name}`);
      }
      break;
    case "output-transformer":
      for (const [name, winding] of [["plates", part.plates] as const, ["speaker", part.speaker] as const]) {
        if (!winding?.nets.includes(net)) continue;
        for (const to of winding.nets) add(to, "load", `${part.reference}.${name}`);
      }
      break;
    case "valve":
      if (part.heater?.nets.includes(net))
        for (const to of part.heater.nets) add(to, "load", `${part.reference}.heater`);
      break;
  }
  return found;
}

/** Every combination of positions of the switches. */
function combinations(switches: readonly Switch[]): Positions[] {
  let all: Map<string, string>[] = [new Map()];
  for (const part of switches) {
    all = all.flatMap((positions) =>
      part.positions.map((position) => new Map(positions).set(part.reference, position)),
    );
  }
  return all;
}

/** Past the bound: the running amplifier, and each switch moved alone. */
function oneByOne(switches: readonly Switch[]): Positions[] {
  const running = new Map(
    switches.map((part) => [part.reference, part.positions.includes("on") ? "on" : part.positions[0]]),
  );
  return [
    running,
    ...switches.flatMap((part) =>
      part.positions
        .filter((position) => position !== running.get(part.reference))
        .map((position) => new Map(running).set(part.reference, position)),
    ),
  ];
}

/** How a net was come to: over which edge, from which net. */
export type Reach = ReadonlyMap<NetIndex, { readonly from: NetIndex; readonly edge: Edge } | undefined>;

export interface How {
  /** Left out: a switch passes in any position (the union of all). */
  readonly positions?: Positions;
  /** False: stop at fuses. */
  readonly fuses?: boolean;
  /** True: through loads too (primaries, lamps, rectifiers). */
  readonly loads?: boolean;
  /** A part that is taken out. */
  readonly without?: Part;
}

/** Nets that a conductor is joined to, nearest first. The metalwork is an end, never a way on. */
export function reach(side: MainsSide, from: readonly NetIndex[], how: How = {}): Reach {
  const found = new Map<NetIndex, { from: NetIndex; edge: Edge } | undefined>();
  for (const net of from) found.set(net, undefined);
  for (const net of found.keys()) {
    if (side.earthy.has(net)) continue;
    for (const edge of side.edges.get(net) ?? []) {
      if (found.has(edge.to) || !passes(edge, how)) continue;
      found.set(edge.to, { from: net, edge });
    }
  }
  return found;
}

function passes(edge: Edge, how: How): boolean {
  if (edge.manner === "blocks" || edge.manner === "leak") return false;
  if (edge.manner === "load" && !how.loads) return false;
  if (edge.fuse && how.fuses === false) return false;
  if (edge.part === how.without) return false;
  if (edge.closedIn && how.positions) return edge.closedIn.has(how.positions.get(edge.part.reference) ?? "");
  return true;
}

/** The parts on the way to a net, first to last; wires and bonds are only the way's metal and are left out. */
export function way(reached: Reach, to: NetIndex): readonly Edge[] {
  const edges: Edge[] = [];
  for (let step = reached.get(to); step; step = reached.get(step.from)) edges.push(step.edge);
  return edges.reverse().filter((edge) => edge.part.kind !== "wire" && edge.part.kind !== "bond");
}

/** The wires on the way to a net: left out of the way's words, and shown as places. */
export function wiresOnWay(reached: Reach, to: NetIndex): readonly Part[] {
  const parts: Part[] = [];
  for (let step = reached.get(to); step; step = reached.get(step.from)) parts.unshift(step.edge.part);
  return parts.filter((part) => part.kind === "wire");
}

/** "active -> F1 -> S1 -> T1.primary" */
export function wayText(conductor: string, edges: readonly Edge[], end?: string): string {
  const labels = edges.map((edge) => edge.label);
  const steps = [conductor, ...labels, ...(end && labels[labels.length - 1] !== end ? [end] : [])];
  return steps.filter((label, index) => label !== steps[index - 1]).join(" -> ");
}

/** The nearest of a winding's nets that a conductor has come to. */
export function arrival(reached: Reach, primary: Primary): NetIndex | undefined {
  for (const net of reached.keys()) if (primary.nets.includes(net)) return net;
  return undefined;
}

/** What a switch position list reads like: "S1 off, S2 on". */
export function positionsText(positions: Positions, only?: readonly Switch[]): string {
  const wanted = only && new Set(only.map((part) => part.reference));
  return [...positions]
    .filter(([reference]) => !wanted || wanted.has(reference))
    .map(([reference, position]) => `${reference} ${/^\d/.test(position) ? `at ${position}` : position}`)
    .join(", ");
}
