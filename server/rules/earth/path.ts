/**
 * The protective path as a graph of its own: from the earth core of the cord over bonds and wires to the metal. Solid
 * ways are bonds and wires; weak ones go through a part that can open or that cannot carry a fault.
 */

import { KeptWith } from "../../circuit/kept-with.ts";
import type { Circuit, CordOrInlet, NetIndex, Part } from "../../circuit/model.ts";
import { netName, partsOn } from "../frame/index.ts";

export interface Step {
  readonly part: Part;
  readonly from: NetIndex;
  readonly to: NetIndex;
  readonly solid: boolean;
}
export type Steps = ReadonlyMap<NetIndex, Step | undefined>;

export interface ProtectivePath {
  readonly circuit: Circuit;
  readonly entries: readonly CordOrInlet[];
  /** Nets of the earth cores. */
  readonly cores: readonly NetIndex[];
  /** The chassis; where the file names none, the first declared metal; else circuit common where the core ends on it. */
  readonly metal?: NetIndex;
  /** What bonds and wires join to the earth cores. */
  readonly solid: Steps;
  /** The same through weak parts too. */
  readonly weak: Steps;
}

const built = new KeptWith<Circuit, ProtectivePath | undefined>();

/** Built once per circuit; undefined where the file has no cord or inlet. */
export function protectivePath(circuit: Circuit): ProtectivePath | undefined {
  if (!built.has(circuit)) built.set(circuit, build(circuit));
  return built.get(circuit);
}

function build(circuit: Circuit): ProtectivePath | undefined {
  const entries = circuit.parts.filter((p): p is CordOrInlet => p.kind === "cord" || p.kind === "inlet");
  if (entries.length === 0) return undefined;
  const cores = entries.flatMap((entry) => entry.leads.get("earth")?.net ?? []);
  const solid = walk(circuit, cores, false);
  const common = circuit.ground !== undefined && solid.has(circuit.ground) ? circuit.ground : undefined;
  const metal = circuit.chassis ?? circuit.metals[0]?.net ?? common;
  return { circuit, entries, cores, metal, solid, weak: walk(circuit, cores, true) };
}

/** Everything joined to `from`, nearest first; solid ways are taken before weak ones. Live mains nets end the way. */
export function walk(circuit: Circuit, from: readonly NetIndex[], weak: boolean): Steps {
  const live = new Set<NetIndex>();
  for (const part of circuit.parts) {
    if (part.kind !== "cord" && part.kind !== "inlet") continue;
    for (const role of ["active", "neutral"] as const) {
      const lead = part.leads.get(role);
      if (lead) live.add(lead.net);
    }
  }
  const found = new Map<NetIndex, Step | undefined>();
  for (const net of from) found.set(net, undefined);
  const touching = weak ? circuit.parts.filter((part) => part.kind === "jack" && !part.insulated) : [];
  // Layer by layer: all that bonds and wires open up, then one weak part further, and again.
  for (let layer = [...found.keys()]; layer.length > 0; ) {
    const next: NetIndex[] = [];
    const take = (part: Part, net: NetIndex, to: NetIndex, solid: boolean) => {
      if (found.has(to)) return;
      found.set(to, { part, from: net, to, solid });
      (solid ? layer : next).push(to);
    };
    for (const net of layer) {
      if (live.has(net)) continue;
      for (const part of partsOn(circuit, net)) {
        if (part.kind !== "bond" && part.kind !== "wire") continue;
        for (const to of part.terminals.values()) if (to !== net) take(part, net, to, true);
      }
    }
    if (!weak) return found;
    for (const net of layer) {
      if (live.has(net)) continue;
      for (const part of partsOn(circuit, net)) {
        for (const to of weakly(circuit, part, net)) take(part, net, to, false);
      }
      if (net !== circuit.chassis) continue;
      // The metal of a jack that is not insulated touches the chassis: it is a way, though a plug-in part's.
      for (const part of touching) {
        const to = part.terminals.get("sleeve");
        if (to !== undefined) take(part, net, to, false);
      }
    }
    layer = next;
  }
  return found;
}

/** Where a part other than a bond or a wire leads on to. */
function weakly(circuit: Circuit, part: Part, net: NetIndex): readonly NetIndex[] {
  const others = () => [...part.terminals.values()].filter((to) => to !== net);
  switch (part.kind) {
    case "resistor":
    case "fuse":
    case "thermistor":
    case "choke":
    case "diode":
    case "zener":
    case "bridge":
    case "lamp":
      return others();
    case "switch":
      return part.poles.flatMap((pole) => {
        const throws = [...pole.throws.values()];
        if (pole.common === net) return throws;
        return pole.common !== undefined && throws.includes(net) ? [pole.common] : [];
      });
    case "jack":
      if (part.terminals.get("sleeve") === net && !part.insulated && circuit.chassis !== undefined) {
        return [...others(), circuit.chassis];
      }
      return others();
    default:
      return [];
  }
}

/** The steps to a net, first to last. */
export function stepsTo(steps: Steps, to: NetIndex): readonly Step[] {
  const list: Step[] = [];
  for (let step = steps.get(to); step; step = steps.get(step.from)) list.unshift(step);
  return list;
}

/** "earth -> E1 -> gnd -> E2 -> chassis": parts and, between them, the nets. */
export function stepsText(circuit: Circuit, steps: readonly Step[], start = "earth"): string {
  const words = [start];
  for (const step of steps) {
    if (!step.part.unnamed) words.push(step.part.reference);
    words.push(netName(circuit, step.to));
  }
  return words.join(" -> ");
}
