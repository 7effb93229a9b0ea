/** The conditions that an amplifier goes through, and what is true in each: design/analysis "Conditions". */

import { KeptWith } from "../circuit/kept-with.ts";
import type { Circuit, MainsLevel, NetIndex, Switch, Valve } from "../circuit/model.ts";
import { plateStopper, smallValve } from "../facts/practice.ts";
import { bookOf } from "../facts/valves/book.ts";
import type { StateName } from "./results.ts";
import { selectorPositions } from "./selectors.ts";

/** One state at one mains level: all that the physics has to know about it. */
export interface Conditions {
  readonly state: StateName;
  readonly level: MainsLevel;
  /** rms. */
  readonly mainsVolts: number;
  readonly hertz: number;
  /** True: indirectly heated cathodes draw nothing, rectifiers included; directly heated ones and semiconductors do. */
  readonly cold: boolean;
  /** References of valves out of their sockets; their heaters are no load either. */
  readonly pulled: ReadonlySet<string>;
  /** References of valves in their sockets that have no heat, since theirs came through those pulled, or the open switch. */
  readonly unlit: ReadonlySet<string>;
  /** Position of each switch by reference. */
  readonly positions: ReadonlyMap<string, string>;
}

/**
 * Position of a switch: mains switches on, standby switches on except in `standby`, a voltage selector where it suits the mains,
 * any other in its first position.
 */
export function switchPosition(circuit: Circuit, part: Switch, state: StateName): string {
  const positions = part.positions;
  if (part.duty === "standby" && state === "standby") {
    return positions.includes("off") ? "off" : (positions[positions.length - 1] ?? "off");
  }
  const chosen = selectorPositions(circuit).get(part.reference);
  if (chosen !== undefined) return chosen;
  return positions.includes("on") ? "on" : (positions[0] ?? "on");
}

/** The states that this amplifier has, in the order it goes through them. `drive` comes with an output stage. */
export function statesOf(circuit: Circuit): StateName[] {
  const states: StateName[] = ["cold"];
  if (circuit.parts.some((part) => part.kind === "switch" && part.duty === "standby")) states.push("standby");
  states.push("idle");
  if (outputValves(circuit).size > 0) states.push("pulled");
  return states;
}

const NONE: ReadonlySet<string> = new Set();

/** What is true in a state at a mains level. */
export function conditionsOf(
  circuit: Circuit,
  state: StateName,
  level: MainsLevel,
  unlit: ReadonlySet<string> = NONE,
): Conditions {
  const positions = new Map<string, string>();
  for (const part of circuit.parts) {
    if (part.kind === "switch") positions.set(part.reference, switchPosition(circuit, part, state));
  }
  return {
    state,
    level,
    mainsVolts: circuit.mains.volts[level],
    hertz: circuit.mains.hertz,
    cold: state === "cold",
    pulled: state === "pulled" ? outputValves(circuit) : NONE,
    unlit,
    positions,
  };
}

/**
 * References of the output valves: a plate on an output transformer's plates winding, through wire or a stopper at most; with no
 * output transformer, the valves of power types.
 */
export function outputValves(circuit: Circuit): ReadonlySet<string> {
  let known = outputs.get(circuit);
  if (!known) {
    known = findOutputValves(circuit);
    outputs.set(circuit, known);
  }
  return known;
}

const outputs = new KeptWith<Circuit, ReadonlySet<string>>();

function findOutputValves(circuit: Circuit): ReadonlySet<string> {
  const found = new Set<string>();
  const ends = new Set<NetIndex>();
  for (const part of circuit.parts) {
    if (part.kind !== "output-transformer" || !part.plates) continue;
    const { nets, tap } = part.plates;
    ends.add(nets[0]);
    // pA HT and pA uA HT are single-ended.
    const single = nets.length === 2 || (nets.length === 3 && tap !== undefined);
    if (!single) ends.add(nets[nets.length - 1]);
  }
  const valves = circuit.parts.filter((part): part is Valve => part.kind === "valve");
  if (ends.size === 0) {
    for (const valve of valves) {
      const facts = valve.type === undefined ? undefined : bookOf(circuit).find(valve.type);
      const power = facts?.sections.some(
        ({ name, electrodes, limits }) =>
          electrodes.includes("screen") &&
          (limits.plateWatts ?? 0) >= smallValve.watts &&
          valve.sections.some((written) => written.name === name),
      );
      if (power) found.add(valve.reference);
    }
    return found;
  }
  const joined = new Map<NetIndex, NetIndex[]>();
  const join = (a: NetIndex | undefined, b: NetIndex | undefined): void => {
    if (a === undefined || b === undefined) return;
    for (const [from, to] of [
      [a, b],
      [b, a],
    ]) {
      const list = joined.get(from);
      if (list) list.push(to);
      else joined.set(from, [to]);
    }
  };
  for (const part of circuit.parts) {
    const stopper = part.kind === "resistor" && part.ohms.value <= plateStopper.mostOhms;
    if (part.kind === "wire" || stopper) join(part.terminals.get("a"), part.terminals.get("b"));
    else if (part.kind === "fuse") join(part.terminals.get("tip"), part.terminals.get("ring"));
  }
  for (const valve of valves) {
    for (const section of valve.sections) {
      const plate = section.electrodes.get("plate");
      if (plate === undefined) continue;
      // Wire to the winding, one stopper on the way: two links suffice in practice.
      const near = new Set([plate, ...(joined.get(plate) ?? [])]);
      for (const net of [...near]) for (const next of joined.get(net) ?? []) near.add(next);
      if ([...near].some((net) => ends.has(net))) found.add(valve.reference);
    }
  }
  return found;
}
