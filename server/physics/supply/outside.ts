/** What stays outside the supplies, and what stands for it where it touches them. */
import type { Circuit, Part } from "../../circuit/model.ts";
import { doubles } from "../linear/slabs.ts";
import type { Topology } from "../topology.ts";
import type { CircuitElements } from "./elements.ts";
import type { Held } from "./held.ts";
import { isHeater } from "./swallow.ts";

/** By node + 1. */
export interface Outside {
  readonly touched: Uint8Array;
  /** Of the resistors that lead on. */
  readonly siemens: Float64Array;
  /**
   * Of what leads on to the next reservoirs, at the ripple's frequency: the capacitance that chokes take from this one, less what
   * resistors lend it.
   */
  readonly farads: Float64Array;
}

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
        siemens[e.a + 1] += 1 / e.ohms;
        siemens[e.b + 1] += 1 / e.ohms;
      }
      farads[e.a + 1] += held.takenBy(e, e.a, e.b);
      farads[e.b + 1] += held.takenBy(e, e.b, e.a);
    }
  }
  return { touched, siemens, farads };
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
