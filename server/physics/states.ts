/** The conditions that an amplifier goes through, and what is true in each: design/analysis "Conditions". */
import type { Circuit, MainsLevel, Part, Switch, Valve } from "../circuit/model.ts";
import type { StateName } from "./results.ts";

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
  /** Position of each switch by reference. */
  readonly positions: ReadonlyMap<string, string>;
}

/** Position of a switch: mains switches on, standby switches on except in `standby`, any other in its first position. */
export function switchPosition(part: Switch, state: StateName): string {
  const positions = part.positions;
  if (part.duty === "standby" && state === "standby") {
    return positions.includes("off") ? "off" : (positions[positions.length - 1] ?? "off");
  }
  if (positions.includes("on")) return "on";
  return positions[0] ?? "on";
}

/** The states that this amplifier has, in the order it goes through them. `drive` comes with an output stage. */
export function statesOf(circuit: Circuit): StateName[] {
  const states: StateName[] = ["cold"];
  if (circuit.parts.some((part) => part.kind === "switch" && part.duty === "standby")) states.push("standby");
  states.push("idle");
  if (outputValves(circuit).size > 0) states.push("pulled");
  return states;
}

/** What is true in a state at a mains level. */
export function conditionsOf(circuit: Circuit, state: StateName, level: MainsLevel): Conditions {
  const positions = new Map<string, string>();
  for (const part of circuit.parts) {
    if (part.kind === "switch") positions.set(part.reference, switchPosition(part, state));
  }
  return {
    state,
    level,
    mainsVolts: circuit.mains.volts[level],
    hertz: circuit.mains.hertz,
    cold: state === "cold",
    pulled: state === "pulled" ? outputValves(circuit) : new Set(),
    positions,
  };
}

/** References of the valves that drive an output transformer: a plate on its plates winding. */
export function outputValves(circuit: Circuit): ReadonlySet<string> {
  const plates = new Set<number>();
  for (const part of circuit.parts) {
    if (part.kind !== "output-transformer" || !part.plates) continue;
    const nets = part.plates.nets;
    plates.add(nets[0]);
    if (nets.length !== 2) plates.add(nets[nets.length - 1]);
  }
  const found = new Set<string>();
  const isValve = (part: Part): part is Valve => part.kind === "valve";
  for (const valve of circuit.parts.filter(isValve)) {
    for (const section of valve.sections) {
      const plate = section.electrodes.get("plate");
      if (plate !== undefined && plates.has(plate)) found.add(valve.reference);
    }
  }
  return found;
}
