/** How a valve section gets its bias: from a resistor in its cathode, from a negative supply, or from its grid current. */

import { KeptWith } from "../../circuit/kept-with.ts";
import type { Circuit, NetIndex, Part } from "../../circuit/model.ts";
import { cathodeSense } from "../../facts/practice.ts";
import type { Analysis, Solution } from "../../physics/results.ts";
import { ends, partsOn } from "../frame/index.ts";
import { keptBySection } from "../shared/by-section.ts";
import { networkOf } from "../shared/network.ts";
import { netsWith } from "../shared/nodes.ts";
import { amplifying, type Section } from "../shared/sections.ts";

export interface Bias {
  /** `grid-leak`: neither: the leak's own drop. */
  readonly kind: "cathode" | "fixed" | "grid-leak";
  /** The parts that set it: cathode resistors, or everything resistive that the grid hangs on. */
  readonly parts: readonly Part[];
  /** Those of them that a current makes the volts in; stoppers and leaks carry none, and set nothing. */
  readonly setters: readonly Part[];
  /** Grid to cathode at idle, nominal; NaN where it is not known. */
  readonly volts: number;
}

/** A cathode this far above common with no resistor of its own is held up by what is below it. */
const HELD_UP_VOLTS = 0.25;

export const biasOf = keptBySection(find);

function find(circuit: Circuit, analysis: Analysis, section: Section): Bias | undefined {
  const { grid, cathode } = section;
  if (grid === undefined || cathode === undefined) return undefined;
  const idle = analysis.solution("idle", "nominal");
  const vk = idle?.volts[cathode] ?? Number.NaN;
  const vg = idle?.volts[grid] ?? Number.NaN;
  const volts = vg - vk;
  const own = cathodeResistors(circuit, cathode);
  const rises = own.some((part) => part.kind !== "resistor" || part.ohms.value > cathodeSense.mostOhms);
  if (rises && !Number.isNaN(vk)) {
    // Both at once (a negative supply and a cathode resistor): the larger share names it.
    if (Number.isNaN(vg) || vg >= 0 || vk >= -vg)
      return { kind: "cathode", parts: own, setters: carrying(idle, own), volts };
  }
  const way = networkOf(circuit).partsFrom(biasGrid(circuit, section) ?? grid);
  if (Number.isNaN(vg)) return undefined;
  // On top of another section (cascode, a follower's load, a pair's tail): the one below carries its current, as a cathode
  // resistor would.
  if (own.length === 0 && vk > HELD_UP_VOLTS && vk >= -vg)
    return { kind: "cathode", parts: own, setters: own, volts };
  const setters = settersOf(circuit, idle, way);
  return { kind: vg < -1.5 ? "fixed" : "grid-leak", parts: way, setters, volts };
}

/** Followers behind each other that a bias may come through. */
const MOST_FOLLOWERS = 3;

/**
 * The grid at which a section's bias is set: its own, or that of the follower whose cathode it hangs on, which passes on the volts
 * that it is given.
 */
export function biasGrid(circuit: Circuit, section: Section): NetIndex | undefined {
  const network = networkOf(circuit);
  const passed = new Set([section.key]);
  let { grid } = section;
  for (let count = 0; grid !== undefined && count < MOST_FOLLOWERS; count++) {
    const nets = [grid, ...network.partsFrom(grid).flatMap((part) => [...part.terminals.values()])];
    const held = new Set(nets.map((net) => network.nodeOf(net)).filter((node) => network.held.has(node)));
    // With a way to common or to a rail as well, it is those that set it.
    const [only] = held;
    if (held.size !== 1 || only === -1) break;
    const follower = amplifying(circuit).find(
      ({ key, grid: own, cathode }) =>
        !passed.has(key) && own !== undefined && cathode !== undefined && network.nodeOf(cathode) === only,
    );
    if (!follower) break;
    passed.add(follower.key);
    grid = follower.grid;
  }
  return grid;
}

/** Of a cathode's current: what carries less has no part in the bias. */
const SETS_SHARE = 0.01;

/** A part through which less than this flows has no drop to speak of. */
const CARRIES_AMPS = 2e-6;

/** Of a cathode's resistors those that its current passes: what only lifts the heaters to it sets nothing. */
function carrying(idle: Solution | undefined, own: readonly Part[]): readonly Part[] {
  const amps = own.map(({ reference }) =>
    Math.max(
      ...[reference, `${reference}.top`, `${reference}.bottom`].map((key) =>
        Math.abs(idle?.readings.get(key)?.amps ?? 0),
      ),
    ),
  );
  const least = Math.max(CARRIES_AMPS, SETS_SHARE * Math.max(...amps));
  const found = own.filter((_, index) => amps[index] > least);
  return found.length > 0 ? found : own;
}

/** Parts of a grid's way that carry a current; where none does, what stands between the way's end and common: back bias. */
function settersOf(circuit: Circuit, idle: Solution | undefined, way: readonly Part[]): readonly Part[] {
  const amps = (part: Part) => Math.abs(idle?.readings.get(part.reference)?.amps ?? 0);
  const carrying = way.filter((part) => part.kind === "pot" || amps(part) > CARRIES_AMPS);
  if (carrying.length > 0) return carrying;
  const common = circuit.ground === undefined ? [] : netsWith(circuit, circuit.ground);
  const ends = way.flatMap((part) => [...part.terminals.values()]).flatMap((net) => netsWith(circuit, net));
  return [...new Set(ends)]
    .filter((net) => !common.includes(net))
    .flatMap((net) => partsOn(circuit, net))
    .filter(
      (part, index, all) =>
        all.indexOf(part) === index &&
        !way.includes(part) &&
        ["resistor", "choke", "zener"].includes(part.kind) &&
        amps(part) > CARRIES_AMPS &&
        [...part.terminals.values()].some((net) => common.includes(net)),
    );
}

/** Resistors (or pots, chokes, zeners) that carry the cathode's current on. */
export function cathodeResistors(circuit: Circuit, cathode: NetIndex): readonly Part[] {
  const nets = netsWith(circuit, cathode);
  const known = resistorsOf.get(nets);
  if (known) return known;
  const other = filamentEnd(circuit, nets);
  const list = other ? filamentResistors(circuit, nets, other) : resistorsOn(circuit, nets);
  resistorsOf.set(nets, list);
  return list;
}

function resistorsOn(circuit: Circuit, nets: readonly NetIndex[]): readonly Part[] {
  const found = new Set<Part>();
  // What else hangs on common is in nobody's lead.
  const grounded = circuit.ground !== undefined && nets.includes(circuit.ground);
  for (const net of grounded ? [] : nets) {
    for (const part of partsOn(circuit, net)) {
      if (!["resistor", "pot", "zener", "diode", "choke"].includes(part.kind)) continue;
      const both = ends(part);
      if (both && nets.includes(both[0]) && nets.includes(both[1])) continue;
      found.add(part);
    }
  }
  return [...found];
}

/** The other end of a filament that is its valve's cathode; undefined where the cathode is a sleeve of its own. */
function filamentEnd(circuit: Circuit, cathode: readonly NetIndex[]): readonly NetIndex[] | undefined {
  for (const { valve, facts, cathode: own } of amplifying(circuit)) {
    if (own === undefined || !cathode.includes(own) || facts?.heating !== "direct") continue;
    const end = valve.heater?.nets.find((net) => !cathode.includes(net));
    if (end !== undefined && valve.heater?.nets.some((net) => cathode.includes(net)))
      return netsWith(circuit, end);
  }
  return undefined;
}

/**
 * The valve's current leaves a filament at either end. Where a resistor leads from one straight to common it is the one that sets
 * the bias, and the others are the filament's own supply.
 */
function filamentResistors(
  circuit: Circuit,
  ...sides: readonly [readonly NetIndex[], readonly NetIndex[]]
): readonly Part[] {
  const common = circuit.ground === undefined ? [] : netsWith(circuit, circuit.ground);
  if (sides.some((nets) => nets.some((net) => common.includes(net)))) return [];
  const all = [...new Set(sides.flatMap((nets) => resistorsOn(circuit, nets)))];
  const home = all.filter((part) => ends(part)?.some((net) => common.includes(net)));
  return home.length > 0 ? home : all;
}

/** By the nets of a node, which are one object for as long as their circuit lives. */
const resistorsOf = new KeptWith<readonly NetIndex[], readonly Part[]>();
