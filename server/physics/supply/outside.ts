/** What stays outside the supplies, and what stands for it where it touches them. */
import type { Circuit, Part } from "../../circuit/model.ts";
import { doubles } from "../linear/slabs.ts";
import type { Topology } from "../topology.ts";
import type { CircuitElements, Element } from "./elements.ts";
import type { Held } from "./held.ts";
import { isHeater } from "./swallow.ts";

/** By node + 1. */
export interface Outside {
  readonly touched: Uint8Array;
  /** Of the resistors that lead on, each with what stands behind it as far as something holds its far end still. */
  readonly siemens: Float64Array;
  /**
   * Of what leads on to the next reservoirs, at the ripple's frequency: the capacitance that chokes take from this one, less what
   * resistors lend it.
   */
  readonly farads: Float64Array;
  /** By a resistor's key and the node that it leads on from: the part of that node's ripple across it, where it is not all of it. */
  readonly shares: ReadonlyMap<string, number>;
}

/** Of the resistor with a key, seen from a node. */
export const shareKey = (key: string, from: number): string => `${key} ${from}`;

/**
 * @param swallowed references of the parts inside
 * @param heated    of those whose heaters are
 */
export function outsideOf(
  circuit: Circuit,
  topology: Topology,
  all: CircuitElements,
  held: Held,
  swallowed: ReadonlySet<string>,
  heated: ReadonlySet<string>,
): Outside {
  const touched = new Uint8Array(topology.nodeCount + 1);
  const siemens = doubles(topology.nodeCount + 1);
  const farads = doubles(topology.nodeCount + 1);
  const shares = new Map<string, number>();
  const touch = (net: number) => {
    touched[topology.node[net] + 1] = 1;
  };
  for (const part of circuit.parts) {
    const { reference } = part;
    if (swallowed.has(reference)) continue;
    touchedBy(part, touch);
    if (part.kind === "valve" && part.heater && !heated.has(reference)) part.heater.nets.forEach(touch);
    for (const e of all.byPart.get(reference) ?? []) {
      if (e.a === e.b || isHeater(e) || (e.kind !== "choke" && e.kind !== "resistance")) continue;
      if (e.kind === "resistance") {
        for (const end of [e.a, e.b]) {
          const passed = siemensBy(all, held, e, end);
          siemens[end + 1] += passed;
          if (passed < 1 / e.ohms) shares.set(shareKey(e.key, end), passed * e.ohms);
        }
      }
      farads[e.a + 1] += held.takenBy(e, e.a, e.b);
      farads[e.b + 1] += held.takenBy(e, e.b, e.a);
    }
  }
  return { touched, siemens, farads, shares };
}

/** Resistors one behind the other are followed no further than this. */
const deepest = 4;

/**
 * What a resistor lets a node's ripple through to: all that it has where a reservoir, common or a diode holds its far end, less where
 * that end hangs on further resistors, and nothing where it hangs on valves alone. A screen's stopper takes no ripple current.
 */
function siemensBy(all: CircuitElements, held: Held, e: Element, from: number, depth = 0): number {
  if (e.kind !== "resistance") return 0;
  const to = e.a === from ? e.b : e.a;
  const own = 1 / e.ohms;
  if (to < 0 || held.has(to)) return own;
  let behind = 0;
  for (const next of all.at[to + 1]) {
    if (next === e || next.a === next.b) continue;
    if (next.kind === "resistance") behind += depth < deepest ? siemensBy(all, held, next, to, depth + 1) : 0;
    else if (next.kind !== "choke" && next.kind !== "open" && next.kind !== "capacitor") return own;
  }
  return behind > 0 ? 1 / (1 / own + 1 / behind) : 0;
}

/** Nets where a part carries direct current. */
function touchedBy(part: Part, touch: (net: number) => void): void {
  switch (part.kind) {
    // Open at dc, already merged into the nodes, or no circuit part.
    case "capacitor":
    case "cord":
    case "inlet":
    case "fuse":
    case "switch":
    case "bond":
    case "wire":
    case "jack":
    case "terminal-strip":
      break;
    case "valve":
      for (const { electrodes } of part.sections) for (const net of electrodes.values()) touch(net);
      break;
    case "transformer":
      part.primary?.nets.forEach(touch);
      for (const { nets } of part.secondaries) nets.forEach(touch);
      break;
    case "output-transformer":
      part.plates?.nets.forEach(touch);
      part.speaker?.nets.forEach(touch);
      break;
    default:
      for (const net of part.terminals.values()) touch(net);
  }
}
