/** Rectifier valves, what they feed, and the rms volts on their plates. */

import { KeptWith } from "../../circuit/kept-with.ts";
import type { Circuit, NetIndex, Part, Transformer, Winding } from "../../circuit/model.ts";
import { filterInput } from "../../facts/practice.ts";
import { ends, partsOn } from "../frame/index.ts";
import { fedOf, netsWith, topologyOf } from "../shared/nodes.ts";
import { rectifying, type Section } from "../shared/sections.ts";

export interface RectifierPlate {
  /** Key of its readings: `V5.plate1`. */
  readonly key: string;
  readonly name: string;
  readonly net: NetIndex;
}

export interface RectifierValve extends Section {
  readonly plates: readonly RectifierPlate[];
  readonly output: NetIndex;
  /** What the first storage element behind it is. */
  readonly input: "capacitor" | "choke";
}

const kept = new KeptWith<Circuit, readonly RectifierValve[]>();

export function rectifierValves(circuit: Circuit): readonly RectifierValve[] {
  let found = kept.get(circuit);
  if (!found) {
    found = rectifying(circuit).flatMap((section) => {
      const { cathode } = section;
      if (cathode === undefined) return [];
      const plates = ["plate1", "plate2", "plate"].flatMap((name) => {
        const net = section.section.electrodes.get(name);
        return net === undefined ? [] : [{ key: `${section.key}.${name}`, name, net }];
      });
      // Field by field: copies with `...` have shapes of their own.
      const { valve, section: wired, key, facts, named, rectifier, plate, grid, screen } = section;
      const own = { valve, section: wired, key, facts, named, rectifier, plate, grid, screen, cathode };
      return [Object.assign(own, { plates, output: cathode, input: inputOf(circuit, cathode) })];
    });
    kept.set(circuit, found);
  }
  return found;
}

function inputOf(circuit: Circuit, cathode: NetIndex): "capacitor" | "choke" {
  const seen = new Set<NetIndex>(netsWith(circuit, cathode));
  let choke = false;
  for (const net of seen) {
    for (const part of partsOn(circuit, net)) {
      if (part.kind === "capacitor" && part.farads.value > 0.47e-6) return "capacitor";
      if (part.kind === "choke") choke = true;
      if (part.kind === "resistor" && part.ohms.value <= filterInput.closeOhms) {
        const both = ends(part);
        for (const end of both ?? []) for (const next of netsWith(circuit, end)) seen.add(next);
      }
    }
  }
  return choke ? "choke" : "capacitor";
}

export interface Feeding {
  readonly transformer: Transformer;
  readonly winding: Winding;
  /** Rated rms volts of the part of the winding that feeds the plate, from its own return. */
  readonly rmsVolts: number;
  /** Ohms of that part, and of resistors between it and the plate. */
  readonly ohms: number;
  readonly seriesOhms: number;
  /** True: a resistance in it is an estimate. */
  readonly estimated: boolean;
  readonly between: readonly Part[];
}

/**
 * The winding behind a rectifier's plate, through resistors, fuses and switches in its lead; undefined for a plate on circuit common,
 * which every winding may come to.
 */
export function feeding(circuit: Circuit, plate: NetIndex): Feeding | undefined {
  const topology = topologyOf(circuit);
  if (topology.node[plate] === -1) return undefined;
  const seen = new Map<NetIndex, { ohms: number; parts: Part[] }>();
  for (const net of netsWith(circuit, plate)) seen.set(net, { ohms: 0, parts: [] });
  for (const [net, way] of seen) {
    for (const part of partsOn(circuit, net)) {
      if (part.kind === "transformer") {
        for (const winding of part.secondaries) {
          const index = winding.nets.findIndex((own) => topology.node[own] === topology.node[net]);
          if (index < 0) continue;
          const tap = returnTap(circuit, winding, index);
          const from = Math.min(index, tap);
          const to = Math.max(index, tap);
          const volts = winding.segmentVolts.slice(from, to).reduce((sum, v) => sum + Math.abs(v), 0);
          const all = winding.segmentVolts.reduce((sum, v) => sum + Math.abs(v), 0) || 1;
          return {
            transformer: part,
            winding,
            rmsVolts: volts,
            ohms: (winding.ohms.value * volts) / all,
            seriesOhms: way.ohms,
            estimated: winding.ohms.origin === "estimate" || part.primary?.ohms.origin === "estimate",
            between: way.parts,
          };
        }
      }
      if (part.kind === "resistor" && part.ohms.value < 5000) {
        const both = ends(part);
        for (const end of both ?? [])
          for (const next of netsWith(circuit, end))
            if (!seen.has(next))
              seen.set(next, { ohms: way.ohms + part.ohms.value, parts: [...way.parts, part] });
      }
    }
  }
  return undefined;
}

/** Which tap of a winding is the return for an end: the middle one where there is one, the other end otherwise. */
function returnTap(circuit: Circuit, winding: Winding, index: number): number {
  const count = winding.nets.length;
  if (count === 2) return index === 0 ? 1 : 0;
  // The tap at, or nearest to, the circuit's common: through what a back-biased supply puts between.
  const topology = topologyOf(circuit);
  const grounded = winding.nets.findIndex((net, i) => i !== index && topology.node[net] === -1);
  if (grounded >= 0) return grounded;
  const ends = [0, count - 1];
  const far = index === 0 ? count - 1 : 0;
  if (ends.includes(index) && returnsThroughDiode(circuit, winding.nets[far])) return far;
  const inner = winding.nets.map((_, i) => i).filter((i) => !ends.includes(i));
  const returns = inner.filter((i) => !isOnRectifier(circuit, winding.nets[i]));
  const wanted = returns[Math.floor(returns.length / 2)];
  return wanted ?? (index === 0 ? count - 1 : 0);
}

/** A diode from common into this end of a winding: the lower half of a bridge, whatever its tap feeds. */
function returnsThroughDiode(circuit: Circuit, end: NetIndex): boolean {
  const { node } = topologyOf(circuit);
  return netsWith(circuit, end).some((own) =>
    partsOn(circuit, own).some((part) => {
      if (part.kind !== "diode") return false;
      const anode = part.terminals.get("anode");
      const cathode = part.terminals.get("cathode");
      return (
        anode !== undefined && cathode !== undefined && node[anode] === -1 && node[cathode] === node[end]
      );
    }),
  );
}

function isOnRectifier(circuit: Circuit, net: NetIndex): boolean {
  return netsWith(circuit, net).some((own) =>
    partsOn(circuit, own).some((part) => part.kind === "diode" || part.kind === "bridge"),
  );
}

/** Source ohms of a plate: its part of the winding, the primary's reflected, and what stands in its lead. */
export function sourceOhms(circuit: Circuit, feed: Feeding): number {
  const { transformer, winding, rmsVolts, ohms, seriesOhms } = feed;
  const { primary } = transformer;
  if (!primary) return ohms + seriesOhms;
  const fed = fedOf(circuit, transformer) ?? { volts: primary.volts.value, ohms: primary.ohms.value };
  // Turns follow the open-circuit volts: what the winding drops at its rated current is added back.
  const all = winding.volts.value || 1;
  const open =
    winding.noLoad || !winding.amps ? 1 : 1 + ((winding.amps.value ?? 0) * winding.ohms.value) / all;
  const ratio = (rmsVolts * open) / (fed.volts || 1);
  return ohms + seriesOhms + ratio * ratio * fed.ohms;
}

/** rms volts on a plate without load, at nominal mains. */
export function openVolts(circuit: Circuit, feed: Feeding): number {
  const { transformer, winding, rmsVolts } = feed;
  const all = winding.volts.value || 1;
  const rise = winding.noLoad || !winding.amps ? 1 : 1 + (winding.amps.value * winding.ohms.value) / all;
  const mains = transformer.primary
    ? circuit.mains.volts.nominal /
      (fedOf(circuit, transformer)?.volts || transformer.primary.volts.value || 1)
    : 1;
  return rmsVolts * rise * mains;
}

/** Straight line between rows of [x, y]; the first row's proportion below it, the last row beyond it. */
export function between(
  rows: readonly (readonly [number, number])[],
  x: number,
  below: "flat" | "proportional",
): number {
  const [first] = rows;
  if (x <= first[0]) return below === "flat" ? first[1] : (first[1] * x) / first[0];
  for (let i = 1; i < rows.length; i++) {
    const [x0, y0] = rows[i - 1];
    const [x1, y1] = rows[i];
    if (x <= x1) return y0 + ((y1 - y0) * (x - x0)) / (x1 - x0);
  }
  return rows[rows.length - 1][1];
}

/** Average amperes out of a rectifier valve in a solution: what its plates carry together. */
export const platesAmps = (
  rectifier: RectifierValve,
  readings: ReadonlyMap<string, { readonly amps?: number }>,
): number | undefined => {
  const amps = rectifier.plates.map((plate) => readings.get(plate.key)?.amps);
  return amps.some((value) => value === undefined)
    ? undefined
    : amps.reduce<number>((sum, value) => sum + (value ?? 0), 0);
};
