/**
 * How the capacitors empty once the plug is out: every charge together, through whatever still conducts. The time constants of an
 * amplifier lie between milliseconds and hours, so the integration is a stiff one, its steps as long as the accuracy allows.
 */
import { atOnce, type InSteps } from "../circuit/in-steps.ts";
import type { Capacitor, Circuit } from "../circuit/model.ts";
import { dischargeVolts } from "../facts/supply.ts";
import { DiodeDevice, ResistorDevice } from "./dc/devices.ts";
import { buildElements, type Laws } from "./dc/elements.ts";
import { solveDc } from "./dc/newton.ts";
import { findReach } from "./dc/reach.ts";
import { findSourceLoops } from "./dc/sources.ts";
import { DcSystem } from "./dc/system.ts";
import type { DcDevice } from "./device.ts";
import { doubles } from "./linear/slabs.ts";
import type { Discharge } from "./results.ts";
import type { Conditions } from "./states.ts";
import type { Topology } from "./topology.ts";
import { companion } from "./transient/companion.ts";
import { ImplicitSteps } from "./transient/implicit.ts";
import { type Capacitance, TransientNetwork } from "./transient/network.ts";
import { Integrator } from "./transient/rosenbrock.ts";

const FIRST_STEP_SECONDS = 1e-3;
/** Nobody waits longer than two days: what still stands then stands for ever. */
const LAST_SECONDS = 1.8e5;
/** A circuit that takes more is left to the robust way. */
const MOST_STEPS = 1000;
const TIE_OHMS = 1000;
/**
 * Of every rectifier that blocks, so that the winding between two of them stands somewhere: a nanoampere at a kilovolt, less than any
 * part is. From memory: small silicon rectifiers leak tens of nanoamperes cold.
 */
const BLOCKED_OHMS = 1e12;
/** In the moment that the plug comes out, so short, no capacitor has lost anything. */
const MOMENT = { seconds: 1e-7 };
/** Error allowed in a step, volts and part of the volts. */
const ERROR_VOLTS = 2e-2;
const ERROR_SHARE = 1e-3;
/** Balance at the beginning, amperes. */
const BALANCE_AMPS = 1e-8;

interface Charge {
  readonly part: Capacitor;
  readonly nodes: readonly [number, number];
}

/**
 * @param conditions which valves still conduct: warm ones do as long as their cathodes hold out
 * @param startVolts volts of each capacitor when the plug comes out, by reference; nought where it is not told
 */
export function findDischarge(
  circuit: Circuit,
  topology: Topology,
  conditions: Conditions,
  laws: Laws,
  startVolts: ReadonlyMap<string, number>,
): ReadonlyMap<string, Discharge> {
  return atOnce(new Emptying(circuit, topology, conditions, laws).from(startVolts));
}

/** The circuit with its plug out. The equations are the same whatever the capacitors hold: one serves every mains level. */
export class Emptying {
  private readonly charges: readonly Charge[];
  private readonly capacitances: readonly Capacitance[];
  private networkKept: TransientNetwork | undefined;
  private devices: DcDevice[] = [];

  constructor(
    private readonly circuit: Circuit,
    private readonly topology: Topology,
    private readonly conditions: Conditions,
    private readonly laws: Laws,
  ) {
    const charges: Charge[] = [];
    for (const part of circuit.parts) {
      if (part.kind !== "capacitor") continue;
      const a = part.terminals.get(part.polarised ? "plus" : "a");
      const b = part.terminals.get(part.polarised ? "minus" : "b");
      if (a === undefined || b === undefined || !(part.farads.value > 0)) continue;
      charges.push({ part, nodes: [topology.node[a], topology.node[b]] });
    }
    this.charges = charges;
    this.capacitances = charges.map(({ part, nodes }) => ({ nodes, farads: part.farads.value }));
  }

  /**
   * @param startVolts volts of each capacitor when the plug comes out, by reference; nought where it is not told
   * @param nodeVolts  of every node just before, as far as they are known: where to look for those just after
   */
  *from(
    startVolts: ReadonlyMap<string, number>,
    nodeVolts?: Float64Array,
  ): InSteps<ReadonlyMap<string, Discharge>> {
    const { charges } = this;
    const start = Float64Array.from(charges, ({ part }) => startVolts.get(part.reference) ?? 0);
    const waiting = start.some((volts) => Math.abs(volts) > dischargeVolts[1]);
    const record = waiting ? yield* this.empty(start, nodeVolts) : [];
    const found = new Map<string, Discharge>();
    charges.forEach(({ part }, k) => {
      const volts = Math.abs(start[k]);
      found.set(part.reference, {
        joules: 0.5 * part.farads.value * volts * volts,
        volts,
        secondsTo60V: firstBelow(record, k, dischargeVolts[0], volts),
        secondsTo50V: firstBelow(record, k, dischargeVolts[1], volts),
      });
    });
    return found;
  }

  /** The volts of every charge, step by step, until none waits any more. */
  private *empty(start: Float64Array, nodeVolts: Float64Array | undefined): InSteps<readonly Moment[]> {
    const network = yield* this.network();
    const record: Moment[] = [{ seconds: 0, volts: start }];
    const x = network && this.begin(network, start, nodeVolts);
    if (!network || !x) return record;
    const { charges } = this;
    const first = Int32Array.from(charges, ({ nodes }) => nodes[0]);
    const second = Int32Array.from(charges, ({ nodes }) => nodes[1]);
    const across = (v: Float64Array, k: number): number =>
      (first[k] < 0 ? 0 : v[first[k]]) - (second[k] < 0 ? 0 : v[second[k]]);
    const integrator = new Integrator(network, x, FIRST_STEP_SECONDS, (at, estimate) => {
      let most = 0;
      for (let k = 0; k < first.length; k++) {
        const part = Math.abs(across(estimate, k)) / (ERROR_VOLTS + ERROR_SHARE * Math.abs(across(at, k)));
        if (!(part <= most)) most = part;
      }
      return most;
    });
    const passed = Uint8Array.from(start, (volts) => (Math.abs(volts) <= dischargeVolts[1] ? 1 : 0));
    /** Where it stands goes into the record. @returns whether any charge still waits */
    const waits = (seconds: number): boolean => {
      const volts = doubles(charges.length);
      let waiting = false;
      for (let k = 0; k < volts.length; k++) {
        volts[k] = across(x, k);
        if (passed[k] === 0) {
          if (Math.abs(volts[k]) <= dischargeVolts[1]) passed[k] = 1;
          else waiting = true;
        }
      }
      record.push({ seconds, volts });
      return waiting;
    };
    while (record.length < MOST_STEPS && integrator.advance()) {
      yield;
      if (!waits(integrator.seconds) || integrator.seconds >= LAST_SECONDS) return record;
    }
    // Where a valve or a diode lets go too abruptly for it: on by the robust way.
    const { seconds } = integrator;
    const steps = new ImplicitSteps(
      this.devices,
      this.capacitances,
      network.nodeCount,
      x,
      seconds,
      FIRST_STEP_SECONDS,
    );
    while (steps.advance()) {
      yield;
      if (!waits(steps.seconds) || steps.seconds >= LAST_SECONDS) break;
    }
    return record;
  }

  /** Built when first needed. */
  private *network(): InSteps<TransientNetwork> {
    if (this.networkKept) return this.networkKept;
    const { circuit, topology, conditions, laws, charges } = this;
    const loops = findSourceLoops(circuit, topology);
    const { elements, sections } = buildElements(circuit, topology, conditions, [], new Set(), laws);
    yield;
    const capacitors = new Set(charges.map((charge) => charge.part.reference));
    const devices: DcDevice[] = elements
      .map((element) => element.device)
      .filter((device) => !capacitors.has(device.reference) && !loops.leftOut.has(device.reference));
    for (const device of [...devices]) {
      if (device instanceof DiodeDevice) devices.push(new ResistorDevice("", device.nodes, BLOCKED_OHMS, 0));
    }
    const held = this.capacitances.map((each) => companion(each, new Float64Array(1), 0, MOMENT, true));
    const reach = findReach(topology.nodeCount, [...devices, ...held], sections, new Set(), [], () => true);
    for (const [a, b] of reach.ties) devices.push(new ResistorDevice("", [a, b], TIE_OHMS, 0));
    this.devices = devices;
    yield;
    this.networkKept = new TransientNetwork(devices, this.capacitances, topology.nodeCount);
    yield;
    return this.networkKept;
  }

  /** Every volt just after the plug is out: the capacitors as charged, the rest as their volts make it. */
  private begin(
    network: TransientNetwork,
    start: Float64Array,
    nodeVolts: Float64Array | undefined,
  ): Float64Array | undefined {
    const { charges } = this;
    const x = doubles(network.size);
    const guess = nodeVolts ?? x;
    for (let n = 0; n < network.nodeCount; n++) x[n] = Number.isFinite(guess[n]) ? guess[n] : 0;
    const amps = doubles(network.size);
    const step = doubles(network.size);
    const perSecond = 1 / MOMENT.seconds;
    // Newton's method from there; it is near where nothing but the rectifiers' side has changed.
    for (let k = 0; nodeVolts && k < 12; k++) {
      if (!network.evaluate(x, amps, perSecond)) break;
      for (let c = 0; c < charges.length; c++) {
        const [a, b] = charges[c].nodes;
        const volts = (a < 0 ? 0 : x[a]) - (b < 0 ? 0 : x[b]) - start[c];
        const own = perSecond * charges[c].part.farads.value * volts;
        if (a >= 0) amps[a] += own;
        if (b >= 0) amps[b] -= own;
      }
      let most = 0;
      for (let i = 0; i < network.size; i++) {
        const size = Math.abs(amps[i]);
        if (!(size <= most)) most = size;
      }
      if (most < BALANCE_AMPS) return x;
      network.solve(amps, step);
      for (let i = 0; i < network.size; i++) x[i] -= step[i];
    }
    const system = new DcSystem(
      [...this.devices, ...this.capacitances.map((each, c) => companion(each, start, c, MOMENT, true))],
      network.nodeCount,
      new Set(),
      new Set(),
    );
    const found = doubles(system.size);
    return solveDc(system, found).converged ? found : undefined;
  }
}

interface Moment {
  readonly seconds: number;
  readonly volts: Float64Array;
}

/** When a charge first falls to some volts; 0 where it never held more, infinity where it keeps them. */
function firstBelow(record: readonly Moment[], charge: number, safe: number, start: number): number {
  if (start <= safe) return 0;
  for (let n = 1; n < record.length; n++) {
    if (Math.abs(record[n].volts[charge]) <= safe) return crossing(record, charge, n, safe);
  }
  return Number.POSITIVE_INFINITY;
}

/**
 * Within the step that ends at `n`, by the cubic whose slopes at both ends are those of the parabolas through three neighbours: of
 * the logarithm, since charges fall exponentially, or of the volts themselves where they change their sign.
 */
function crossing(record: readonly Moment[], charge: number, n: number, safe: number): number {
  const last = record.length - 1;
  const near = [n - 2, n - 1, n, n + 1].map((k) => Math.max(0, Math.min(last, k)));
  const sign = record[n - 1].volts[charge] < 0 ? -1 : 1;
  const falls = near.every((k) => sign * record[k].volts[charge] > LEAST_VOLTS);
  const told = (k: number): number => {
    const volts = sign * record[k].volts[charge];
    return falls ? Math.log(volts) : volts;
  };
  const from = record[n - 1].seconds;
  const step = record[n].seconds - from;
  const before = told(n - 1);
  const after = told(n);
  const straight = (after - before) / step;
  /** Slope at one end times the step, by the parabola through both and the neighbour beyond; undefined without one. */
  const slope = (k: number, other: number): number | undefined => {
    if (other === k) return undefined;
    const own = Math.abs(record[other].seconds - record[k].seconds);
    const beside = (told(other) - told(k)) / (record[other].seconds - record[k].seconds);
    return ((straight * own + beside * step) / (own + step)) * step;
  };
  const whole = after - before;
  const early = slope(n - 1, near[0]);
  const late = slope(n, near[3]);
  // With a neighbour on one side alone: the same parabola's other end.
  const first = early ?? 2 * whole - (late ?? whole);
  const second = late ?? 2 * whole - (early ?? whole);
  const aim = falls ? Math.log(safe) : safe;
  const at = (part: number): number => {
    const rest = 1 - part;
    return (
      before * rest * rest * (1 + 2 * part) +
      after * part * part * (3 - 2 * part) +
      part * rest * (first * rest - second * part)
    );
  };
  let low = 0;
  let high = 1;
  for (let k = 0; k < 40; k++) {
    const middle = 0.5 * (low + high);
    if (at(middle) > aim) low = middle;
    else high = middle;
  }
  return from + step * high;
}

/** What has fallen so far is of no use to tell how it fell. */
const LEAST_VOLTS = 1e-2;
