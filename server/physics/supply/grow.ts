/** The supplies of a circuit: what belongs to each, what feeds it, and where it touches the rest. */
import type { Circuit } from "../../circuit/model.ts";
import type { Topology } from "../topology.ts";
import type { CircuitElements, Element } from "./elements.ts";
import { Held } from "./held.ts";
import { type Island, separate } from "./islands.ts";
import { type Outside, outsideOf } from "./outside.ts";
import { isHeater, onMains, swallow } from "./swallow.ts";
import type { WoundTransformer } from "./windings.ts";

/** A node that something outside touches, and what stands there for ripple: the outside's own nodes taken as still. */
export interface Boundary {
  readonly node: number;
  /** Of the resistors that lead on. */
  readonly siemens: number;
  /**
   * Of what leads on to the next reservoirs, at the ripple's frequency: the capacitance that chokes take from this one, less what
   * resistors lend it.
   */
  readonly farads: number;
}

export interface IslandPlan {
  /** Nodes of the island, ascending; without circuit common. */
  readonly nodes: readonly number[];
  readonly elements: readonly Element[];
  /** References of the parts inside. */
  readonly parts: ReadonlySet<string>;
  /** References of valves and lamps whose heaters load it. */
  readonly heaters: ReadonlySet<string>;
  /** Nodes that something outside touches, with the conductance of the resistors there. */
  readonly boundary: readonly Boundary[];
  readonly inner: readonly number[];
  /** What resistors that lead on take of the ripple: as `Outside` has it. */
  readonly shares: Outside["shares"];
  /** Where the mains volts stand: pairs of nodes. */
  readonly feeds: readonly { readonly a: number; readonly b: number; readonly primary?: string }[];
  /** Transformers without a primary: driven at their open-circuit volts, by the nominal mains. */
  readonly bare: readonly { readonly transformer: WoundTransformer; readonly nominalVolts: number }[];
  /** What is odd about it. */
  readonly notes: readonly { readonly message: string; readonly nodes: readonly number[] }[];
}

export function growIslands(circuit: Circuit, topology: Topology, all: CircuitElements): IslandPlan[] {
  const held = new Held(all, circuit.mains.hertz);
  const swallowed = swallow(topology, all, held);
  if (!swallowed) return [];
  const found = separate(topology, all, held, swallowed).map((island) => contentsOf(island, all));
  const parts = new Set<string>();
  const heaters = new Set<string>();
  for (const contents of found) {
    for (const reference of contents.parts) parts.add(reference);
    for (const reference of contents.heaters) heaters.add(reference);
  }
  const outside = outsideOf(circuit, topology, all, held, parts, heaters);
  return found.map((contents) => planOf(circuit, topology, all, contents, outside));
}

interface Contents {
  readonly nodes: readonly number[];
  readonly elements: readonly Element[];
  readonly parts: ReadonlySet<string>;
  readonly heaters: ReadonlySet<string>;
}

/** A part is in only when all of its elements are. */
function contentsOf({ nodes, elements: found }: Island, all: CircuitElements): Contents {
  const counted = new Map<string, number>();
  for (const e of found) if (!isHeater(e)) counted.set(e.reference, (counted.get(e.reference) ?? 0) + 1);
  const parts = new Set<string>();
  for (const [reference, count] of counted) {
    let whole = 0;
    for (const e of all.byPart.get(reference) ?? []) if (!isHeater(e)) whole++;
    if (count === whole) parts.add(reference);
  }
  const elements = found.filter((e) => isHeater(e) || parts.has(e.reference));
  const heaters = new Set<string>();
  for (const e of elements) if (e.kind === "resistance" && e.as !== "resistor") heaters.add(e.reference);
  return { nodes: [...new Set(nodes)].sort((a, b) => a - b), elements, parts, heaters };
}

function planOf(
  circuit: Circuit,
  topology: Topology,
  all: CircuitElements,
  { nodes, elements, parts, heaters }: Contents,
  { touched, siemens, farads, shares }: Outside,
): IslandPlan {
  const { mains } = topology;
  const isMains = onMains(topology);
  const feeds: { a: number; b: number; primary?: string }[] = [];
  const notes: { message: string; nodes: readonly number[] }[] = [];
  const transformers = all.transformers.filter((t) => parts.has(t.transformer.reference));
  if (!mains) {
    for (const { transformer } of transformers) {
      const ends = primaryEnds(circuit, topology, transformer);
      if (ends) feeds.push({ ...ends, primary: transformer.reference });
    }
  } else if (mains.active === mains.neutral) {
    notes.push({ message: "the mains' active and neutral are joined", nodes: [mains.active] });
  } else if (elements.some((e) => isMains(e.a) || isMains(e.b)))
    feeds.push({ a: mains.active, b: mains.neutral });
  for (const e of elements) {
    if (e.kind === "winding" && e.a === e.b)
      notes.push({ message: `winding ${e.windingKey} is shorted`, nodes: [e.a] });
  }
  return {
    nodes,
    elements,
    parts,
    heaters,
    boundary: nodes
      .filter((n) => touched[n + 1])
      .map((node) => ({ node, siemens: siemens[node + 1], farads: farads[node + 1] })),
    inner: nodes.filter((n) => !touched[n + 1]),
    shares,
    feeds,
    bare: transformers
      .filter((t) => !t.transformer.primary)
      .map((transformer) => ({ transformer, nominalVolts: circuit.mains.volts.nominal })),
    notes,
  };
}

/** A primary's start and its tap nearest the mains; undefined where there is none to feed. */
function primaryEnds(
  { mains }: Circuit,
  topology: Topology,
  { primary }: WoundTransformer["transformer"],
): { readonly a: number; readonly b: number } | undefined {
  if (!primary || primary.nets.length < 2) return undefined;
  let volts = 0;
  let best = 1;
  let off = Number.POSITIVE_INFINITY;
  for (let k = 1; k < primary.nets.length; k++) {
    volts += Math.abs(primary.segmentVolts[k - 1]);
    const away = Math.abs(Math.log(volts / mains.volts.nominal));
    if (away < off - 1e-9) {
      off = away;
      best = k;
    }
  }
  const a = topology.node[primary.nets[0]];
  const b = topology.node[primary.nets[best]];
  return a === b ? undefined : { a, b };
}
