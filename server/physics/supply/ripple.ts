/**
 * Ripple behind the supplies: phasors at the harmonics of the mains through the whole linearised network (resistors, chokes,
 * capacitors, the valves' slopes at their operating points), driven by what the islands' steady states give at their boundary
 * nodes; peak to peak by adding the harmonics up over a cycle.
 */
import type { Capacitor, Choke } from "../../circuit/model.ts";
import { ComplexSparseLu } from "../linear/complex-lu.ts";
import { buildPattern } from "../linear/pattern.ts";
import type { Topology } from "../topology.ts";
import type { LaterRipple, SolvedNetwork } from "./island.ts";
import type { Observed } from "./readings.ts";

export interface LaterPhasors {
  /** Peak to peak and rms by node; 0 where there is none. */
  readonly ripple: Float64Array;
  readonly rms: Float64Array;
  /** rms current of the capacitors outside the islands, by reference. */
  readonly capacitorAmps: ReadonlyMap<string, number>;
  /** Volts of each harmonic followed: by order, cosine and sine by node. */
  readonly harmonics: ReadonlyMap<number, { readonly cosine: Float64Array; readonly sine: Float64Array }>;
}

const highest = 8;
/** Harmonics weaker than this part of the strongest are left out: filters weaken them further still. */
const least = 0.01;
const samples = 64;
/** One node's wave, by sample. */
const wave = new Float64Array(samples);
/** Once round, by sample. */
const circle = {
  cosine: Float64Array.from({ length: samples }, (_, k) => Math.cos((2 * Math.PI * k) / samples)),
  sine: Float64Array.from({ length: samples }, (_, k) => Math.sin((2 * Math.PI * k) / samples)),
};
/** Ties a node that nothing reaches. */
const leak = 1e-10;

/** @throws never */
export const laterRipple: LaterRipple = (solved) => laterPhasors(solved).ripple;

/** The equations' shape: the same for every level of a state. */
interface Shape {
  readonly signature: string;
  readonly unknown: Int32Array;
  readonly size: number;
  readonly places: readonly Place[];
  readonly entry: Int32Array;
  readonly lu: ComplexSparseLu;
  readonly reactive: readonly {
    readonly places: readonly (readonly [Place, number])[];
    readonly part: Capacitor | Choke;
  }[];
  readonly capacitors: readonly { readonly part: Capacitor; readonly a: number; readonly b: number }[];
}

/** One admittance in one row: at an unknown, or from a driving node. */
interface Place {
  re: number;
  im: number;
  readonly driver: number;
  readonly row: number;
  /** In the pattern's list; -1 from a driver. */
  readonly entry: number;
  /** Element and entry of its Jacobian; -1 for a reactance or a leak. */
  readonly element: number;
  readonly at: number;
}

const shapes = new WeakMap<Topology, Shape[]>();

function shapeOf(solved: SolvedNetwork, drivers: readonly number[], inside: Uint8Array): Shape {
  const { topology, circuit, elements, islands } = solved;
  const parts = new Set(islands.flatMap(({ island }) => [...island.parts]));
  const signature = `${drivers.join()}|${elements.map(({ device }) => `${device.reference} ${device.nodes.join()}`).join()}`;
  const known = shapes.get(topology) ?? [];
  shapes.set(topology, known);
  const found = known.find((shape) => shape.signature === signature);
  if (found) return found;

  const unknown = new Int32Array(topology.nodeCount).fill(-1);
  let size = 0;
  for (let n = 0; n < unknown.length; n++) if (!inside[n]) unknown[n] = size++;
  const nodes = size;
  const branchAt = elements.map(({ device }) => {
    const at = size;
    size += device.branches;
    return at;
  });
  const rows: number[] = [];
  const columns: number[] = [];
  const places: Place[] = [];
  const driverOf = new Map(drivers.map((node, k) => [node, k]));
  const add = (row: number, column: number, driver: number, element = -1, at = -1): Place => {
    const place = { re: 0, im: 0, driver, row, entry: column >= 0 ? rows.length : -1, element, at };
    if (column >= 0) {
      rows.push(row);
      columns.push(column);
    }
    places.push(place);
    return place;
  };
  for (let n = 0; n < nodes; n++) add(n, n, -1).re = leak;
  const where = (node: number): readonly [number, number] =>
    node < 0 ? [-1, -1] : unknown[node] >= 0 ? [unknown[node], -1] : [-1, driverOf.get(node) ?? -1];
  const reactive: { places: (readonly [Place, number])[]; part: Capacitor | Choke }[] = [];
  const twoTerminal = (part: Capacitor | Choke, a: number, b: number) => {
    const own: (readonly [Place, number])[] = [];
    for (const [from, to, sign] of [
      [a, a, 1],
      [a, b, -1],
      [b, b, 1],
      [b, a, -1],
    ] as const) {
      const [row] = where(from);
      const [column, driver] = where(to);
      if (row >= 0 && (column >= 0 || driver >= 0)) own.push([add(row, column, driver), sign]);
    }
    reactive.push({ places: own, part });
  };
  elements.forEach(({ device, jac }, e) => {
    const part = circuit.partByReference.get(device.reference);
    if (part?.kind === "choke" && part.henries.value > 0) {
      twoTerminal(part, device.nodes[0], device.nodes[1]);
      return;
    }
    const terminals = device.nodes.length;
    const own = terminals + device.branches;
    const at = (k: number): readonly [number, number] =>
      k < terminals ? where(device.nodes[k]) : [branchAt[e] + k - terminals, -1];
    for (let r = 0; r < own; r++) {
      const [row] = at(r);
      if (row < 0) continue;
      for (let c = 0; c < own; c++) {
        if (device.linear && jac[r * own + c] === 0) continue;
        const [column, driver] = at(c);
        if (column >= 0 || driver >= 0) add(row, column, driver, e, r * own + c);
      }
    }
  });
  const capacitors: { part: Capacitor; a: number; b: number }[] = [];
  for (const part of circuit.parts) {
    if (part.kind !== "capacitor" || parts.has(part.reference)) continue;
    const first = part.terminals.get(part.polarised ? "plus" : "a");
    const second = part.terminals.get(part.polarised ? "minus" : "b");
    if (first === undefined || second === undefined || !(part.farads.value > 0)) continue;
    const a = topology.node[first];
    const b = topology.node[second];
    if (a === b) continue;
    capacitors.push({ part, a, b });
    twoTerminal(part, a, b);
  }
  const { pattern, entry } = buildPattern(size, rows, columns);
  const lu = new ComplexSparseLu(pattern);
  const shape = { signature, unknown, size, places, entry, lu, reactive, capacitors };
  known.push(shape);
  return shape;
}

export function laterPhasors(solved: SolvedNetwork): LaterPhasors {
  const { topology, islands, elements, conditions } = solved;
  const count = topology.nodeCount;
  const ripple = new Float64Array(count);
  const rms = new Float64Array(count);
  const capacitorAmps = new Map<string, number>();
  const harmonics = new Map<number, { cosine: Float64Array; sine: Float64Array }>();
  const told = { ripple, rms, capacitorAmps, harmonics };

  // Who drives: the boundary nodes, order by order.
  const drivers: { node: number; phasors: (readonly [number, number])[] }[] = [];
  const inside = new Uint8Array(count);
  for (const { island, result } of islands) {
    for (const node of island.innerNodes) inside[node] = 1;
    const observed = result as Partial<Observed>;
    for (const node of island.device.nodes) {
      if (node < 0) continue;
      inside[node] = 1;
      const phasors: (readonly [number, number])[] = [[0, 0]];
      for (let order = 1; order <= highest; order++) {
        const h = observed.harmonics?.(node, order);
        phasors.push(h && Number.isFinite(h.cosine) && Number.isFinite(h.sine) ? [h.cosine, h.sine] : [0, 0]);
      }
      drivers.push({ node, phasors });
    }
  }
  const strength = (order: number) =>
    drivers.reduce((most, { phasors }) => Math.max(most, Math.hypot(...phasors[order])), 0);
  const all = Array.from({ length: highest }, (_, k) => k + 1);
  const strongest = all.reduce((most, order) => Math.max(most, strength(order)), 0);
  if (!(strongest > 0)) return told;
  const orders = all.filter((order) => strength(order) > least * strongest);

  const nodes = drivers.map(({ node }) => node);
  const { unknown, size, places, entry, lu, reactive, capacitors } = shapeOf(solved, nodes, inside);
  if (size === 0) return told;
  const entries = lu.pattern.rows.length;
  const re = new Float64Array(entries);
  const im = new Float64Array(entries);
  const bRe = new Float64Array(size);
  const bIm = new Float64Array(size);
  const xRe = new Float64Array(size);
  const xIm = new Float64Array(size);
  for (const place of places) {
    if (place.element < 0) continue;
    const value = elements[place.element].jac[place.at];
    place.re = Number.isFinite(value) ? value : 0;
  }
  for (const order of orders) {
    const omega = 2 * Math.PI * conditions.hertz * order;
    for (const { places: own, part } of reactive) {
      const [yRe, yIm] = admittance(part, omega);
      for (const [place, sign] of own) {
        place.re = sign * yRe;
        place.im = sign * yIm;
      }
    }
    re.fill(0);
    im.fill(0);
    bRe.fill(0);
    bIm.fill(0);
    for (const { entry: at, re: yRe, im: yIm, driver, row } of places) {
      if (at >= 0) {
        re[entry[at]] += yRe;
        im[entry[at]] += yIm;
      } else {
        // A cosine and a sine are the real part and minus the imaginary one.
        const [cosine, sine] = drivers[driver].phasors[order];
        bRe[row] -= yRe * cosine + yIm * sine;
        bIm[row] -= yIm * cosine - yRe * sine;
      }
    }
    if (!lu.factor(re, im)) continue;
    lu.solve(bRe, bIm, xRe, xIm);
    const cosine = new Float64Array(count);
    const sine = new Float64Array(count);
    for (let n = 0; n < count; n++) {
      const u = unknown[n];
      if (u < 0) continue;
      cosine[n] = xRe[u];
      sine[n] = -xIm[u];
    }
    for (const { node, phasors } of drivers) {
      cosine[node] = phasors[order][0];
      sine[node] = phasors[order][1];
    }
    harmonics.set(order, { cosine, sine });
    for (const { part, a, b } of capacitors) {
      const c = (a < 0 ? 0 : cosine[a]) - (b < 0 ? 0 : cosine[b]);
      const s = (a < 0 ? 0 : sine[a]) - (b < 0 ? 0 : sine[b]);
      const square = 0.5 * (c * c + s * s) * (omega * part.farads.value) ** 2;
      capacitorAmps.set(
        part.reference,
        Math.hypot(capacitorAmps.get(part.reference) ?? 0, Math.sqrt(square)),
      );
    }
  }

  // Added up over a cycle.
  const followed = [...harmonics.keys()];
  const cosines = followed.map((order) => harmonics.get(order)!.cosine);
  const sines = followed.map((order) => harmonics.get(order)!.sine);
  for (let n = 0; n < count; n++) {
    let square = 0;
    for (let h = 0; h < followed.length; h++) square += 0.5 * (cosines[h][n] ** 2 + sines[h][n] ** 2);
    if (!(square > 0)) continue;
    rms[n] = Math.sqrt(square);
    wave.fill(0);
    for (let h = 0; h < followed.length; h++) {
      const c = cosines[h][n];
      const s = sines[h][n];
      const order = followed[h];
      for (let k = 0, angle = 0; k < samples; k++) {
        wave[k] += c * circle.cosine[angle] + s * circle.sine[angle];
        angle += order;
        if (angle >= samples) angle -= samples;
      }
    }
    let high = 0;
    let low = 0;
    for (let k = 0; k < samples; k++) {
      if (wave[k] > high) high = wave[k];
      if (wave[k] < low) low = wave[k];
    }
    ripple[n] = high - low;
  }
  return told;
}

function admittance(part: Capacitor | Choke, omega: number): readonly [number, number] {
  if (part.kind === "capacitor") return [0, omega * part.farads.value];
  const r = Math.max(part.ohms.value, 1e-3);
  const x = omega * part.henries.value;
  const d = r * r + x * x;
  return [r / d, -x / d];
}
