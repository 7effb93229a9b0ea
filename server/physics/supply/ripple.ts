/**
 * Ripple behind the supplies: phasors at the harmonics of the mains through the whole linearised network (resistors, chokes,
 * capacitors, the valves' slopes at their operating points), driven by what the islands' steady states give at their boundary
 * nodes; peak to peak by adding the harmonics up over a cycle.
 */
import { atOnce, type InSteps } from "../../circuit/in-steps.ts";
import { KeptWith } from "../../circuit/kept-with.ts";
import type { Capacitor, Choke } from "../../circuit/model.ts";
import type { DcDevice } from "../device.ts";
import { factorComplex, solveComplex } from "../elimination/complex.ts";
import { type EliminationPlan, planElimination } from "../elimination/plan.ts";
import { ComplexSparseLu } from "../linear/complex-lu.ts";
import { buildPattern, type Pattern } from "../linear/pattern.ts";
import { copyOf, doubles, integers } from "../linear/slabs.ts";
import { addUp, type Harmonic, highest } from "./harmonics.ts";
import type { LaterRipple, SolvedNetwork, SupplyIsland } from "./island.ts";
import type { Observed } from "./readings.ts";

export interface LaterPhasors {
  /** Peak to peak and rms by node; 0 where there is none. */
  readonly ripple: Float64Array;
  readonly rms: Float64Array;
  /** rms current of the capacitors outside the islands, by reference. */
  readonly capacitorAmps: ReadonlyMap<string, number>;
  /** rms of the alternating current of the chokes outside the islands, by reference. */
  readonly chokeAmps: ReadonlyMap<string, number>;
  /** Volts of each harmonic followed: by order, cosine and sine by node. */
  readonly harmonics: ReadonlyMap<number, Harmonic>;
}

/** Harmonics weaker than this part of the strongest are left out: filters weaken them further still. */
const least = 0.01;
/** Beyond this order they are followed only where they make more than a part of the ripple behind a first filter. */
const far = 8;
const shows = 0.01;
/** Ties a node that nothing reaches. */
const leak = 1e-10;

/** @throws never */
export const laterRipple: LaterRipple = (solved) => atOnce(laterPhasors(solved)).ripple;

/**
 * The equations' shape: the same for every level of a state. A place is an entry of the matrix, or behind those one current of a driver
 * into a row, which goes to the right side.
 */
interface Shape {
  /** Whose it is. */
  readonly devices: readonly DcDevice[];
  readonly drivers: readonly number[];
  /** Unknown of each node, -1 for those of the supplies. */
  readonly unknown: Int32Array;
  readonly pattern: Pattern;
  /** How the matrix is solved; where a pivot has once vanished, with pivots chosen afresh for every one. */
  readonly plan: EliminationPlan | undefined;
  lu?: ComplexSparseLu;
  /** Entries of the factors: places below. */
  readonly entries: number;
  /** Row and driver of each place behind them. */
  readonly drivenRow: Int32Array;
  readonly drivenBy: Int32Array;
  /** Siemens of what is linear, and farads, by place. */
  readonly siemens: Float64Array;
  readonly farads: Float64Array;
  /** Slopes that differ from level to level: element and entry of its Jacobian, and the place. */
  readonly bentElement: Int32Array;
  readonly bentAt: Int32Array;
  readonly bentPlace: Int32Array;
  /** Chokes by place: which one, and its sign there. */
  readonly chokes: readonly Choke[];
  readonly chokePlace: Int32Array;
  readonly chokeOf: Int32Array;
  readonly chokeSign: Int32Array;
  /** Capacitors outside the supplies, between two nodes. */
  readonly capacitors: readonly Capacitor[];
  readonly capacitorNodes: Int32Array;
}

const shapes = new KeptWith<object, Shape[]>();

function shapeOf(solved: SolvedNetwork, drivers: readonly number[], inside: Uint8Array): Shape {
  const { topology, elements } = solved;
  const known = shapes.get(topology) ?? [];
  shapes.set(topology, known);
  const found = known.find(
    (shape) =>
      shape.devices.length === elements.length &&
      shape.drivers.length === drivers.length &&
      shape.drivers.every((node, k) => node === drivers[k]) &&
      shape.devices.every((device, k) => device === elements[k].device),
  );
  if (found) return found;
  const shape = buildShape(solved, drivers, inside);
  known.push(shape);
  return shape;
}

function buildShape(solved: SolvedNetwork, drivers: readonly number[], inside: Uint8Array): Shape {
  const { topology, circuit, elements, islands } = solved;
  const parts = new Set(islands.flatMap(({ island }) => [...island.parts]));
  const unknown = integers(topology.nodeCount).fill(-1);
  let size = 0;
  for (let n = 0; n < unknown.length; n++) if (!inside[n]) unknown[n] = size++;
  const nodes = size;
  const none = -1;
  /** By node: an unknown, or below -1 a driver. */
  const where = unknown.slice();
  drivers.forEach((node, k) => {
    where[node] = -2 - k;
  });
  // Whatever is added: to a row, from a column or (below -1) from a driver.
  const rows: number[] = [];
  const columns: number[] = [];
  const siemens: number[] = [];
  const farads: number[] = [];
  const bent: number[] = [];
  const wound: number[] = [];
  const add = (row: number, column: number, g: number, c: number): void => {
    rows.push(row);
    columns.push(column);
    siemens.push(g);
    farads.push(c);
  };
  for (let n = 0; n < nodes; n++) add(n, n, leak, 0);
  const twoTerminal = (a: number, b: number, c: number): void => {
    const from = a < 0 ? none : where[a];
    const to = b < 0 ? none : where[b];
    if (from >= 0) {
      add(from, from, 0, c);
      if (to !== none) add(from, to, 0, -c);
    }
    if (to >= 0) {
      add(to, to, 0, c);
      if (from !== none) add(to, from, 0, -c);
    }
  };
  const chokes: Choke[] = [];
  const at: number[] = [];
  for (let e = 0; e < elements.length; e++) {
    const { device } = elements[e];
    const branches = size;
    size += device.branches;
    const part = circuit.partByReference.get(device.reference);
    if (part?.kind === "choke" && part.henries.value > 0) {
      // With a sign in the place of farads for now.
      const first = rows.length;
      twoTerminal(device.nodes[0], device.nodes[1], 1);
      for (let term = first; term < rows.length; term++) {
        wound.push(chokes.length, farads[term], term);
        farads[term] = 0;
      }
      chokes.push(part);
      continue;
    }
    const terminals = device.nodes.length;
    const own = terminals + device.branches;
    let reached = false;
    for (let k = 0; k < own; k++) {
      const node = k < terminals ? device.nodes[k] : 0;
      at[k] = k >= terminals ? branches + k - terminals : node < 0 ? none : where[node];
      if (at[k] >= 0) reached = true;
    }
    if (!reached) continue;
    const jac = device.linear ? elements[e].jac : undefined;
    for (let r = 0; r < own; r++) {
      if (at[r] < 0) continue;
      for (let c = 0; c < own; c++) {
        if (at[c] === none) continue;
        if (jac) {
          const slope = jac[r * own + c];
          if (slope !== 0) add(at[r], at[c], finite(slope), 0);
        } else {
          bent.push(e, r * own + c, rows.length);
          add(at[r], at[c], 0, 0);
        }
      }
    }
  }
  const capacitors: Capacitor[] = [];
  const capacitorNodes: number[] = [];
  for (const part of circuit.parts) {
    if (part.kind !== "capacitor" || parts.has(part.reference)) continue;
    const first = part.terminals.get(part.polarised ? "plus" : "a");
    const second = part.terminals.get(part.polarised ? "minus" : "b");
    if (first === undefined || second === undefined || !(part.farads.value > 0)) continue;
    const a = topology.node[first];
    const b = topology.node[second];
    if (a === b) continue;
    capacitors.push(part);
    capacitorNodes.push(a, b);
    twoTerminal(a, b, part.farads.value);
  }

  // Places: of the matrix first, in the order of the terms.
  const count = rows.length;
  const matrixRows = integers(count);
  const matrixColumns = integers(count);
  let used = 0;
  for (let term = 0; term < count; term++) {
    if (columns[term] < 0) continue;
    matrixRows[used] = rows[term];
    matrixColumns[used++] = columns[term];
  }
  const { pattern, entry } = buildPattern(size, matrixRows, matrixColumns, used);
  const plan = planElimination(pattern);
  const entries = plan?.entries ?? pattern.rows.length;
  const placeOf = integers(count);
  const constant = doubles(entries + count - used);
  const capacity = doubles(constant.length);
  const drivenRow = integers(count - used);
  const drivenBy = integers(count - used);
  let inMatrix = 0;
  let driven = 0;
  for (let term = 0; term < count; term++) {
    let place: number;
    if (columns[term] >= 0) place = entry[inMatrix++];
    else {
      place = entries + driven;
      drivenRow[driven] = rows[term];
      drivenBy[driven++] = -2 - columns[term];
    }
    placeOf[term] = place;
    constant[place] += siemens[term];
    capacity[place] += farads[term];
  }
  return {
    devices: elements.map(({ device }) => device),
    drivers,
    unknown,
    pattern,
    plan,
    entries,
    drivenRow,
    drivenBy,
    siemens: constant,
    farads: capacity,
    bentElement: thirds(bent, 0),
    bentAt: thirds(bent, 1),
    bentPlace: thirds(bent, 2).map((term) => placeOf[term]),
    chokes,
    chokePlace: thirds(wound, 2).map((term) => placeOf[term]),
    chokeOf: thirds(wound, 0),
    chokeSign: thirds(wound, 1),
    capacitors,
    capacitorNodes: Int32Array.from(capacitorNodes),
  };
}

/** Every third number from the first, second or last on. */
function thirds(all: readonly number[], from: number): Int32Array {
  const out = integers(all.length / 3);
  for (let k = 0; k < out.length; k++) out[k] = all[3 * k + from];
  return out;
}

const finite = (value: number): number => (Number.isFinite(value) ? value : 0);

/** A boundary node's phasors by order. */
interface Driver {
  readonly node: number;
  readonly cosine: Float64Array;
  readonly sine: Float64Array;
  /** Peak to peak and rms of all of it. */
  readonly whole?: { readonly ripple: number; readonly rms: number };
}

/** Who drives: the boundary nodes. `inside` is marked with every node of the supplies. */
function driversOf({ islands }: SolvedNetwork, inside: Uint8Array): Driver[] {
  const drivers: Driver[] = [];
  for (const { island, result } of islands) {
    for (const node of island.innerNodes) inside[node] = 1;
    const observed = result as Partial<Observed>;
    for (const node of island.device.nodes) {
      if (node < 0) continue;
      inside[node] = 1;
      const [swing, alternating] = [result.ripple.get(node), result.rms.get(node)];
      const whole =
        swing === undefined || alternating === undefined ? undefined : { ripple: swing, rms: alternating };
      const driver = { node, cosine: doubles(highest + 1), sine: doubles(highest + 1), whole };
      for (let order = 1; order <= highest; order++) {
        const h = observed.harmonics?.(node, order);
        if (!h || !Number.isFinite(h.cosine) || !Number.isFinite(h.sine)) continue;
        driver.cosine[order] = h.cosine;
        driver.sine[order] = h.sine;
      }
      drivers.push(driver);
    }
  }
  return drivers;
}

/**
 * The orders that are worth following. A first resistor and capacitor weaken each in proportion to its order, and whatever follows
 * them more: what is sharper than most is followed further, where that shows behind them.
 */
function ordersOf(drivers: readonly Driver[]): number[] {
  const strength = doubles(highest + 1);
  let strongest = 0;
  let all = 0;
  let further = 0;
  for (let order = 1; order <= highest; order++) {
    for (const { cosine, sine } of drivers)
      strength[order] = Math.max(strength[order], Math.hypot(cosine[order], sine[order]));
    strongest = Math.max(strongest, strength[order]);
    all += strength[order] / order;
    if (order > far) further += strength[order] / order;
  }
  const last = further > shows * all ? highest : far;
  const orders: number[] = [];
  for (let order = 1; order <= last && strongest > 0; order++)
    if (strength[order] > least * strongest) orders.push(order);
  return orders;
}

/** @returns once all harmonics are followed, with a stop at each */
export function* laterPhasors(solved: SolvedNetwork): InSteps<LaterPhasors> {
  const { topology, elements, conditions } = solved;
  const count = topology.nodeCount;
  const ripple = doubles(count);
  const rms = doubles(count);
  const capacitorAmps = new Map<string, number>();
  const chokeAmps = new Map<string, number>();
  const harmonics = new Map<number, Harmonic>();
  const told = { ripple, rms, capacitorAmps, chokeAmps, harmonics };
  const inside = new Uint8Array(count);
  const drivers = driversOf(solved, inside);
  const orders = ordersOf(drivers);
  if (orders.length === 0) return told;
  const shape = shapeOf(
    solved,
    drivers.map(({ node }) => node),
    inside,
  );
  const { unknown, pattern, entries, siemens, farads, drivenRow, drivenBy, chokes, capacitorNodes } = shape;
  const { size } = pattern;
  if (size === 0) return told;
  yield;

  const conductance = copyOf(siemens);
  for (let k = 0; k < shape.bentPlace.length; k++)
    conductance[shape.bentPlace[k]] += finite(elements[shape.bentElement[k]].jac[shape.bentAt[k]]);
  const re = doubles(siemens.length);
  const im = doubles(siemens.length);
  const bRe = doubles(size);
  const bIm = doubles(size);
  const xRe = doubles(size);
  const xIm = doubles(size);
  const squares = doubles(shape.capacitors.length);
  for (const order of orders) {
    const omega = 2 * Math.PI * conditions.hertz * order;
    for (let p = 0; p < re.length; p++) {
      re[p] = conductance[p];
      im[p] = omega * farads[p];
    }
    for (let k = 0; k < shape.chokePlace.length; k++) {
      const { ohms, henries } = chokes[shape.chokeOf[k]];
      const r = Math.max(ohms.value, 1e-3);
      const x = omega * henries.value;
      const sign = shape.chokeSign[k] / (r * r + x * x);
      re[shape.chokePlace[k]] += sign * r;
      im[shape.chokePlace[k]] -= sign * x;
    }
    bRe.fill(0);
    bIm.fill(0);
    for (let k = 0; k < drivenRow.length; k++) {
      // A cosine and a sine are the real part and minus the imaginary one.
      const driver = drivers[drivenBy[k]];
      const c = driver.cosine[order];
      const s = driver.sine[order];
      bRe[drivenRow[k]] -= re[entries + k] * c + im[entries + k] * s;
      bIm[drivenRow[k]] -= im[entries + k] * c - re[entries + k] * s;
    }
    yield;
    if (!solve(shape, re, im, bRe, bIm, xRe, xIm)) continue;
    const cosine = doubles(count);
    const sine = doubles(count);
    for (let n = 0; n < count; n++) {
      const u = unknown[n];
      if (u < 0) continue;
      cosine[n] = xRe[u];
      sine[n] = -xIm[u];
    }
    for (const driver of drivers) {
      cosine[driver.node] = driver.cosine[order];
      sine[driver.node] = driver.sine[order];
    }
    const wave = { cosine, sine };
    harmonics.set(order, wave);
    for (let k = 0; k < squares.length; k++) {
      const volts = between(wave, capacitorNodes[2 * k], capacitorNodes[2 * k + 1]);
      squares[k] += volts * (omega * shape.capacitors[k].farads.value) ** 2;
    }
  }
  if (harmonics.size > 0) {
    shape.capacitors.forEach((part, k) => {
      capacitorAmps.set(part.reference, Math.sqrt(squares[k]));
    });
  }
  for (const choke of chokes) {
    const [a, b] = [choke.terminals.get("a"), choke.terminals.get("b")];
    if (a === undefined || b === undefined) continue;
    let square = 0;
    for (const [order, wave] of harmonics) {
      const volts = between(wave, topology.node[a], topology.node[b]);
      square +=
        volts / (choke.ohms.value ** 2 + (2 * Math.PI * conditions.hertz * order * choke.henries.value) ** 2);
    }
    chokeAmps.set(choke.reference, Math.sqrt(square));
  }
  yield;
  addUp(harmonics, ripple, rms);
  followDrivers(drivers, harmonics, unknown, told);
  return told;
}

/** Of a node's alternating power, what may differ from a part of its driver's for it to follow that driver. */
const astray = 1e-3;

/** Where a node has the very waveform of a supply's, only smaller, that is known to its last corner, and not by harmonics alone. */
function followDrivers(
  drivers: readonly Driver[],
  harmonics: ReadonlyMap<number, Harmonic>,
  unknown: Int32Array,
  { ripple, rms }: { readonly ripple: Float64Array; readonly rms: Float64Array },
): void {
  for (let n = 0; n < ripple.length; n++) {
    if (unknown[n] < 0 || !(ripple[n] > 0)) continue;
    for (const driver of drivers) {
      const whole = driver.whole;
      if (!(whole && whole.ripple > 0)) continue;
      let own = 0;
      let shared = 0;
      let driving = 0;
      for (const [order, { cosine, sine }] of harmonics) {
        const [c, s] = [driver.cosine[order], driver.sine[order]];
        own += cosine[n] * cosine[n] + sine[n] * sine[n];
        shared += cosine[n] * c + sine[n] * s;
        driving += c * c + s * s;
      }
      if (!(driving > 0) || own - (shared * shared) / driving > astray * own) continue;
      const part = Math.abs(shared) / driving;
      ripple[n] = part * whole.ripple;
      rms[n] = part * whole.rms;
      break;
    }
  }
}

/** Mean square of a harmonic's volts between two nodes. */
function between(
  { cosine, sine }: { readonly cosine: Float64Array; readonly sine: Float64Array },
  a: number,
  b: number,
): number {
  const c = (a < 0 ? 0 : cosine[a]) - (b < 0 ? 0 : cosine[b]);
  const s = (a < 0 ? 0 : sine[a]) - (b < 0 ? 0 : sine[b]);
  return 0.5 * (c * c + s * s);
}

/**
 * Alternating volts that the supplies put across what leads on from their nets, without any phasors: what lies beyond is taken as
 * still, or to follow, as the supplies themselves take it.
 * @returns rms across a resistor between two nodes
 */
export function rippleAcross(
  islands: SolvedNetwork["islands"],
): (key: string, a: number, b: number) => number {
  const held = new Map<
    number,
    { readonly result: Partial<Observed>; readonly share: SupplyIsland["rippleShare"] }
  >();
  for (const { island, result } of islands) {
    const own = { result: result as Partial<Observed>, share: island.rippleShare };
    for (const node of island.device.nodes) if (node >= 0) held.set(node, own);
  }
  return (key, a, b) => {
    const first = held.get(a);
    const second = held.get(b);
    if (!first?.result.harmonics || !second?.result.harmonics) {
      const [from, at] = first ? [first, a] : [second, b];
      return (from?.result.rms?.get(at) ?? 0) * (from?.share?.(key, at) ?? 1);
    }
    let square = 0;
    for (let order = 1; order <= highest; order++) {
      const from = first.result.harmonics(a, order);
      const to = second.result.harmonics(b, order);
      square += 0.5 * ((from.cosine - to.cosine) ** 2 + (from.sine - to.sine) ** 2);
    }
    return Math.sqrt(square);
  };
}

/** @returns false for a singular matrix; the right side is written over, and the matrix too where that serves */
function solve(
  shape: Shape,
  re: Float64Array,
  im: Float64Array,
  bRe: Float64Array,
  bIm: Float64Array,
  xRe: Float64Array,
  xIm: Float64Array,
): boolean {
  const { plan, pattern } = shape;
  if (plan && !shape.lu) {
    const own = pattern.rows.length;
    const kept = { re: copyOf(re, 0, own), im: copyOf(im, 0, own) };
    if (factorComplex(plan, re, im)) {
      solveComplex(plan, re, im, bRe, bIm, xRe, xIm);
      return true;
    }
    re.set(kept.re);
    im.set(kept.im);
  }
  shape.lu ??= new ComplexSparseLu(pattern);
  const own = pattern.rows.length;
  if (!shape.lu.factor(re.subarray(0, own), im.subarray(0, own))) return false;
  shape.lu.solve(bRe, bIm, xRe, xIm);
  return true;
}
