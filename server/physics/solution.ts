/** A solved state as the rest of the program reads it. Everything is worked out when it is first asked for. */
import { atOnce, type InSteps } from "../circuit/in-steps.ts";
import { KeptWith } from "../circuit/kept-with.ts";
import type { MainsLevel, NetIndex } from "../circuit/model.ts";
import { conductorCurrents } from "./dc/conductors.ts";
import type { Element, LocalQuantity } from "./dc/elements.ts";
import { Influence } from "./dc/influence.ts";
import type { PlantSolution } from "./dc/plant.ts";
import type { DcSystem } from "./dc/system.ts";
import { everything, isUnsolved } from "./dc/unsolved.ts";
import type { DcDevice } from "./device.ts";
import { copyOf, doubles } from "./linear/slabs.ts";
import type { Band, ReadingName, Solution, StateName, Unsolved } from "./results.ts";
import { InnerReadings, wholeOf } from "./supply/inner-readings.ts";
import type { Readings, SolvedNetwork } from "./supply/island.ts";
import { type LaterPhasors, rippleAcross } from "./supply/ripple.ts";
import type { Topology } from "./topology.ts";

/** How to find a reading again, for its band. */
type Origin =
  | { readonly from: "device"; readonly device: number; readonly quantities: readonly LocalQuantity[] }
  | { readonly from: "island"; readonly island: number }
  | {
      readonly from: "conductor";
      readonly sign: 1 | -1;
      readonly terminals: readonly { readonly element: number; readonly terminal: number }[];
    };

type FindPhasors = (solved: SolvedNetwork) => InSteps<LaterPhasors>;

/**
 * What is told where something is unsolved. `guess`: everything, of that a guess. `whole`, `rest`: no figure of it, and the rest counts
 * as no solution, or as one. `none`: no figure of anything.
 */
type Telling = "guess" | "whole" | "rest" | "none";

const SEPARATOR = "\u0000";

export class DcSolution implements Solution {
  readonly state: StateName;
  readonly level: MainsLevel;
  readonly mainsVolts: number;
  readonly volts: Float64Array;
  readonly floating: readonly NetIndex[];
  readonly solved: boolean;
  readonly trouble?: Solution["trouble"];
  readonly unsolved: Solution["unsolved"];
  readonly estimates: readonly string[];
  /** By node; NaN where nothing fixes it. For later stages of the physics. */
  readonly nodeVolts: Float64Array;

  readonly plant: PlantSolution;
  private readonly findPhasors: FindPhasors;
  private phasorsKept: LaterPhasors | undefined;
  private nets:
    | { ripple: Float64Array; peak: Float64Array; trough: Float64Array; rms: Float64Array }
    | undefined;
  private told: LateReadings | undefined;
  /** Of the conductors alone: the others are found when a band is asked for. */
  private readonly conducted = new Map<string, Origin>();
  private influenceKept: Influence | undefined;
  private readonly bands = new Map<string, Band | undefined>();
  private networkKept: SolvedNetwork | undefined;
  private hotSwitchKept: ReadonlyMap<string, number> | undefined;

  private others: Map<Telling, DcSolution> | undefined;
  /** What no figure is told of. */
  private readonly hidden: Solution["unsolved"];

  constructor(plant: PlantSolution, findPhasors: FindPhasors, telling: Telling = "guess") {
    const { conditions, unsolved } = plant;
    const { topology, system, reach, circuit } = plant.plant;
    this.plant = plant;
    this.findPhasors = findPhasors;
    this.state = conditions.state;
    this.level = conditions.level;
    this.mainsVolts = conditions.mainsVolts;
    this.unsolved = unsolved;
    this.trouble = unsolved && troubleOf(unsolved);
    this.solved = unsolved === undefined || telling === "guess" || (telling === "rest" && !unsolved.whole);
    this.hidden = telling === "none" ? everything(circuit) : telling === "guess" ? undefined : unsolved;
    const nothing = this.hidden?.whole === true;
    const floatingNodes = new Set<number>(reach.floating);
    for (const { result: inside } of plant.islandResults)
      for (const node of inside.floating ?? []) floatingNodes.add(node);
    // The mains' neutral is earthed outside.
    const outside = topology.mains ? [topology.mains.active, topology.mains.neutral] : [];
    for (const node of outside) floatingNodes.delete(node);
    this.nodeVolts = doubles(topology.nodeCount);
    for (let n = 0; n < topology.nodeCount; n++) {
      const unknown = system.unknownOfNode[n];
      this.nodeVolts[n] = nothing || floatingNodes.has(n) || unknown < 0 ? Number.NaN : plant.x[unknown];
    }
    for (const { result: inside } of plant.islandResults) {
      for (const [node, volts] of inside.nodeVolts) {
        if (node >= 0 && system.unknownOfNode[node] < 0 && !floatingNodes.has(node) && !nothing)
          this.nodeVolts[node] = volts;
      }
    }
    for (const node of outside) {
      if (node >= 0 && !nothing && Number.isNaN(this.nodeVolts[node])) this.nodeVolts[node] = 0;
    }
    this.volts = doubles(circuit.nets.length);
    for (let net = 0; net < this.volts.length; net++) {
      const node = topology.node[net];
      this.volts[net] = nothing ? Number.NaN : node < 0 ? 0 : this.nodeVolts[node];
    }
    if (this.hidden) for (const net of this.hidden.nets) this.volts[net] = Number.NaN;
    const floating: number[] = [];
    for (const node of floatingNodes) for (const net of topology.nets[node]) floating.push(net);
    this.floating = floating.sort((a, b) => a - b);
    const told = [...plant.plant.elements.estimates];
    for (const { result: inside } of plant.islandResults) told.push(...inside.estimates);
    if (topology.common.told) told.push(topology.common.told);
    this.estimates = told;
  }

  /**
   * The same solution without any figure of what is unsolved.
   * @param restCounts what is solved counts as a solution
   */
  without(restCounts: boolean): DcSolution {
    return this.telling(restCounts ? "rest" : "whole");
  }

  /** Without any figure. */
  blind(): DcSolution {
    return this.telling("none");
  }

  private telling(telling: Telling): DcSolution {
    this.others ??= new Map();
    let found = this.others.get(telling);
    if (!found) {
      found = new DcSolution(this.plant, this.findPhasors, telling);
      this.others.set(telling, found);
    }
    return found;
  }

  /** Peaks of the rectifying elements when the supplies are switched on hot, by key. */
  get hotSwitch(): ReadonlyMap<string, number> {
    if (this.hotSwitchKept) return this.hotSwitchKept;
    const peaks = new Map<string, number>();
    const volts = (node: number): number => (node < 0 ? 0 : this.nodeVolts[node]);
    for (const { island, amps, result } of this.plant.islandResults) {
      const { nodes } = island.device;
      const given = (node: number): number => -(amps[nodes.indexOf(node)] ?? 0);
      for (const [key, peak] of result.hotSwitch?.({ volts, given }) ?? [])
        if (!this.hidden || !isUnsolved(this.hidden, key)) peaks.set(key, peak);
    }
    this.hotSwitchKept = peaks;
    return peaks;
  }

  /** Nets to nodes in this state. */
  get topology(): Topology {
    return this.plant.plant.topology;
  }

  /** The network as solved, for later stages of the physics. */
  get network(): SolvedNetwork {
    if (this.networkKept) return this.networkKept;
    const { plant, conditions, x, islandResults } = this.plant;
    const { system } = plant;
    const elements = plant.elements.elements.map((_, d) => new SolvedElement(system, d, x));
    this.networkKept = {
      circuit: plant.circuit,
      topology: plant.topology,
      conditions,
      nodeVolts: this.nodeVolts,
      elements,
      islands: islandResults,
    };
    return this.networkKept;
  }

  get ripple(): Float64Array {
    return this.alternating().ripple;
  }
  get peak(): Float64Array {
    return this.alternating().peak;
  }
  get trough(): Float64Array {
    return this.alternating().trough;
  }
  get rms(): Float64Array {
    return this.alternating().rms;
  }

  /** What the supplies' ripple is at the nets behind them. */
  private get phasors(): LaterPhasors | undefined {
    if (!this.phasorsKept) atOnce(this.rippleInSteps());
    return this.phasorsKept;
  }

  /** The ripple behind the supplies, found with stops. */
  *rippleInSteps(): InSteps<void> {
    if (this.hidden?.whole || this.plant.islandResults.length === 0) return;
    this.phasorsKept ??= yield* this.findPhasors(this.network);
  }

  private alternating() {
    if (this.nets) return this.nets;
    const { plant, islandResults } = this.plant;
    const { topology } = plant;
    const count = topology.nodeCount;
    const later = this.phasors;
    const ripple = later ? copyOf(later.ripple, 0, count) : doubles(count);
    const rms = later ? copyOf(later.rms, 0, count) : doubles(count);
    const peak = doubles(count).fill(Number.NaN);
    const trough = doubles(count).fill(Number.NaN);
    for (const { result } of islandResults) {
      for (const [node, value] of result.ripple) if (node >= 0) ripple[node] = value;
      for (const [node, value] of result.rms) if (node >= 0) rms[node] = value;
      for (const [node, value] of result.peak) if (node >= 0) peak[node] = value;
      for (const [node, value] of result.trough) if (node >= 0) trough[node] = value;
    }
    if (topology.mains) {
      const { active, neutral } = topology.mains;
      if (neutral >= 0) peak[neutral] = trough[neutral] = ripple[neutral] = rms[neutral] = 0;
      if (active >= 0 && active !== neutral) {
        rms[active] = this.mainsVolts;
        peak[active] = this.mainsVolts * Math.SQRT2;
        trough[active] = -peak[active];
        ripple[active] = 2 * peak[active];
      }
    }
    for (let n = 0; n < count; n++) {
      if (Number.isNaN(peak[n])) peak[n] = this.nodeVolts[n] + ripple[n] / 2;
      if (Number.isNaN(trough[n])) trough[n] = this.nodeVolts[n] - ripple[n] / 2;
    }
    const spread = (byNode: Float64Array): Float64Array => {
      const out = doubles(topology.node.length);
      for (let net = 0; net < out.length; net++) {
        const node = topology.node[net];
        out[net] = node < 0 ? 0 : byNode[node];
      }
      if (this.hidden) for (const net of this.hidden.nets) out[net] = Number.NaN;
      return out;
    };
    this.nets = { ripple: spread(ripple), peak: spread(peak), trough: spread(trough), rms: spread(rms) };
    return this.nets;
  }

  get readings(): ReadonlyMap<string, Readings> {
    if (this.told) return this.told;
    const { plant, x, islandResults } = this.plant;
    const { partByReference } = plant.circuit;
    const told = new LateReadings((key) => {
      const kind = partByReference.get(key)?.kind;
      return kind === "capacitor" || kind === "choke";
    });
    this.told = told;
    if (this.hidden?.whole) return told;
    const { system, elements, firstIsland, topology } = plant;
    const floating = new Set(plant.reach.floating);
    const currents = doubles(system.start[firstIsland]);
    let largest = 0;
    for (let d = 0; d < firstIsland; d++) largest = Math.max(largest, system.start[d + 1] - system.start[d]);
    const local = doubles(largest);
    const f = doubles(largest);
    const jac = doubles(largest * largest);
    const into = (key: string): Readings => {
      let readings = told.soFar(key);
      if (!readings || readings instanceof InnerReadings) {
        readings = readings ? wholeOf(readings) : {};
        told.set(key, readings);
      }
      return readings;
    };
    for (let d = 0; d < firstIsland; d++) {
      const device = system.devices[d];
      system.gather(d, x, local);
      device.evaluate(local, f, jac);
      for (let k = system.start[d]; k < system.start[d + 1]; k++) currents[k] = f[k - system.start[d]];
      for (const { key, quantities } of elements.elements[d].told) {
        const readings = into(key);
        for (const { plus, minus, kind, terminal, sign, reading } of quantities) {
          // Volts between groups that nothing ties together are unknown too.
          const known =
            kind === "amps" || kind === "size" || !this.apart(device.nodes, plus, minus, floating);
          if (!known) continue;
          const across = (plus < 0 ? 0 : local[plus]) - (minus < 0 ? 0 : local[minus]);
          const amps = terminal < 0 ? 0 : sign * f[terminal];
          const value =
            kind === "volts"
              ? across
              : kind === "amps"
                ? amps
                : kind === "size"
                  ? Math.abs(amps)
                  : across * amps;
          // Adding nought makes -0 plain.
          put(readings, reading, value + 0);
        }
      }
    }
    if (islandResults.length > 0) this.addRipple(told);
    for (const { result } of islandResults) {
      for (const [key, given] of result.readings) {
        if (told.soFar(key) || !(given instanceof InnerReadings)) Object.assign(into(key), wholeOf(given));
        else told.set(key, given);
      }
    }
    for (const found of conductorCurrents(plant.circuit, topology, elements.elements, islandResults)) {
      let amps = found.islandAmps;
      for (const { element, terminal } of found.terminals) amps += currents[system.start[element] + terminal];
      const readings = into(found.conductor.key!);
      readings.volts ??= 0;
      if (!Number.isNaN(amps) && readings.amps === undefined) {
        readings.amps = found.sign * amps + 0;
        this.conducted.set(found.conductor.key!, {
          from: "conductor",
          sign: found.sign,
          terminals: found.terminals,
        });
      }
      const rms = found.rms ?? (Number.isNaN(amps) ? undefined : Math.abs(amps));
      if (rms !== undefined) readings.rms ??= rms;
      readings.watts ??= 0;
    }
    const { hidden } = this;
    if (hidden) for (const key of [...told.keys()]) if (isUnsolved(hidden, key)) told.delete(key);
    // Capacitors behind the reservoirs carry what ripple is left.
    told.later(() => {
      for (const [key, amps] of this.phasors?.capacitorAmps ?? []) {
        const readings = told.get(key);
        if (readings) readings.rms ??= amps;
      }
      for (const [key, amps] of this.phasors?.chokeAmps ?? []) {
        const readings = told.get(key);
        const part = partByReference.get(key);
        if (!readings || part?.kind !== "choke") continue;
        readings.rms = Math.hypot(readings.amps ?? 0, amps);
        readings.watts = (readings.watts ?? 0) + amps * amps * part.ohms.value;
      }
    });
    return told;
  }

  /** A resistor that leads on from a reservoir carries its ripple besides the direct current. */
  private addRipple(told: ReadonlyMap<string, Readings>): void {
    const { plant, islandResults } = this.plant;
    const { elements, firstIsland, system, circuit } = plant;
    const across = rippleAcross(islandResults);
    for (let d = 0; d < firstIsland; d++) {
      const { nodes } = system.devices[d];
      if (nodes.length !== 2) continue;
      for (const { key } of elements.elements[d].told) {
        const part = circuit.partByReference.get(key);
        if (part?.kind !== "resistor") continue;
        const volts = across(key, nodes[0], nodes[1]);
        if (!(volts > 0)) continue;
        const readings = told.get(key);
        const ohms = part.ohms.value;
        if (!(ohms > 0) || readings?.rms === undefined) continue;
        readings.rms = Math.hypot(readings.rms, volts / ohms);
        readings.watts = (readings.watts ?? 0) + (volts * volts) / ohms;
      }
    }
  }

  private apart(
    nodes: readonly number[],
    plus: number,
    minus: number,
    floating: ReadonlySet<number>,
  ): boolean {
    const a = plus < 0 ? -1 : nodes[plus];
    const b = minus < 0 ? -1 : nodes[minus];
    if (a === b) return false;
    const aFloats = floating.has(a);
    const bFloats = floating.has(b);
    if (!aFloats && !bFloats) return false;
    if (aFloats !== bFloats) return true;
    return this.plant.plant.reach.group(a) !== this.plant.plant.reach.group(b);
  }

  private get influence(): Influence {
    if (!this.influenceKept) {
      const { plant, x, jacobian, islands } = this.plant;
      islands.forEach((island, k) => {
        plant.system.replace(plant.firstIsland + k, island.device);
      });
      this.influenceKept = new Influence(plant.system, x, jacobian);
    }
    return this.influenceKept;
  }

  netBand(net: NetIndex, average?: string): Band {
    const nominal = this.volts[net];
    const node = this.plant.plant.topology.node[net];
    if (node === undefined || node < 0 || !Number.isFinite(nominal))
      return { nominal, low: nominal, high: nominal };
    const key = `#${node}${SEPARATOR}${average ?? ""}`;
    let band = this.bands.get(key);
    if (!band) {
      const gradient = this.nodeGradient(node);
      band = gradient ? this.around(nominal, gradient, average) : { nominal, low: nominal, high: nominal };
      this.bands.set(key, band);
    }
    return band;
  }

  /** By parameter; not to be changed. */
  private nodeGradient(node: number): Readonly<Float64Array> | undefined {
    const { plant, islandResults } = this.plant;
    const { influence } = this;
    const unknown = plant.system.unknownOfNode[node];
    if (unknown >= 0) return influence.row(unknown);
    const gradient = doubles(influence.parameters.length);
    for (let k = 0; k < islandResults.length; k++) {
      const { island, result } = islandResults[k];
      if (!island.innerNodes.includes(node)) continue;
      const given = result.nodeGradient?.(node);
      if (!given) return undefined;
      influence.addGiven(plant.firstIsland + k, given.dx, given.dp, gradient);
      return gradient;
    }
    return undefined;
  }

  band(key: string, reading: ReadingName, average?: string): Band | undefined {
    const nominal = this.readings.get(key)?.[reading];
    if (nominal === undefined) return undefined;
    const id = `${key}${SEPARATOR}${reading}${SEPARATOR}${average ?? ""}`;
    if (this.bands.has(id)) return this.bands.get(id);
    const gradient = this.readingGradient(key, reading);
    const band = gradient
      ? this.around(nominal, gradient, average)
      : { nominal, low: nominal, high: nominal };
    this.bands.set(id, band);
    return band;
  }

  private readingGradient(key: string, reading: ReadingName): Float64Array | undefined {
    const { plant, islandResults } = this.plant;
    const { influence } = this;
    const origin = this.originOf(key);
    if (!origin) return undefined;
    const gradient = doubles(influence.parameters.length);
    if (origin.from === "device") {
      const quantity = origin.quantities.find((other) => other.reading === reading);
      if (!quantity) return undefined;
      influence.addQuantity(origin.device, quantity, gradient);
      return gradient;
    }
    if (origin.from === "island") {
      const given = islandResults[origin.island].result.gradient?.(key, reading);
      if (!given) return undefined;
      influence.addGiven(plant.firstIsland + origin.island, given.dx, given.dp, gradient);
      return gradient;
    }
    if (reading !== "amps") return undefined;
    for (const { element, terminal } of origin.terminals) {
      const quantity: LocalQuantity = {
        reading,
        kind: "amps",
        plus: -1,
        minus: -1,
        terminal,
        sign: origin.sign,
      };
      influence.addQuantity(element, quantity, gradient);
    }
    return gradient;
  }

  /** The last one that tells a reading counts. */
  private originOf(key: string): Origin | undefined {
    const conducted = this.conducted.get(key);
    if (conducted) return conducted;
    const { plant, islandResults } = this.plant;
    for (let island = islandResults.length - 1; island >= 0; island--)
      if (islandResults[island].result.readings.has(key)) return { from: "island", island };
    return deviceOrigins(plant.elements.elements).get(key);
  }

  private around(nominal: number, gradient: Readonly<Float64Array>, average?: string): Band {
    return this.influence.around(nominal, gradient, average);
  }

  sensitivity(net: NetIndex): readonly { readonly reference: string; readonly dVolts: number }[] {
    const node = this.plant.plant.topology.node[net];
    if (this.hidden?.nets.has(net) || node === undefined || node < 0) return [];
    const gradient = this.nodeGradient(node);
    if (!gradient) return [];
    const sums = new Map<string, number>();
    this.influence.parameters.forEach(({ reference }, p) => {
      if (gradient[p] !== 0) sums.set(reference, (sums.get(reference) ?? 0) + gradient[p]);
    });
    return [...sums]
      .map(([reference, dVolts]) => ({ reference, dVolts }))
      .sort((a, b) => Math.abs(b.dVolts) - Math.abs(a.dVolts));
  }

  /**
   * Source resistance as seen at some nodes: volts lost at the first per ampere drawn from the second.
   * @param nodes of the topology
   * @param held  keys of valve sections (`V3`, `V1.a`) whose currents stand still whatever their electrodes do
   * @returns row-major square by `nodes`; zero for common, for nodes inside supplies, and where it cannot be told
   */
  sourceOhms(nodes: readonly number[], held: ReadonlySet<string>): Float64Array {
    const { plant, jacobian } = this.plant;
    const { system } = plant;
    const count = nodes.length;
    const ohms = doubles(count * count);
    if (this.hidden?.whole) return ohms;
    const values = copyOf(jacobian);
    for (const { device, index, unknown, entry } of system.moving) {
      if (!held.has(device.reference) || index >= plant.firstIsland) continue;
      const own = unknown.length;
      const jac = doubles(own * own);
      device.evaluate(system.gather(index, this.plant.x, doubles(own)), doubles(own), jac);
      for (let k = 0; k < jac.length; k++) if (entry[k] >= 0) values[entry[k]] -= jac[k];
    }
    system.holder = null;
    if (!system.lu.factor(values)) return ohms;
    const x = doubles(system.size);
    const within = nodes.map((node) => this.within(node));
    nodes.forEach((node, c) => {
      const unknown = node < 0 ? -1 : system.unknownOfNode[node];
      if (unknown < 0) return;
      x.fill(0);
      x[unknown] = 1;
      system.lu.solve(x, x);
      nodes.forEach((other, r) => {
        const at = other < 0 ? -1 : system.unknownOfNode[other];
        if (at >= 0) ohms[r * count + c] = x[at];
        const inner = within[r];
        if (!inner) return;
        for (let k = 0; k < inner.dx.length; k++) {
          const moved = system.unknowns[inner.start + k];
          if (moved >= 0) ohms[r * count + c] += inner.dx[k] * x[moved];
        }
      });
    });
    return ohms;
  }

  /** How a node inside a supply follows that supply's unknowns, and where those begin; undefined for every other node. */
  private within(node: number): { readonly start: number; readonly dx: Float64Array } | undefined {
    const { plant, islandResults } = this.plant;
    const { system, firstIsland } = plant;
    if (node < 0 || system.unknownOfNode[node] >= 0) return undefined;
    for (let k = 0; k < islandResults.length; k++) {
      const { result } = islandResults[k];
      const dx = result.nodeVolts.has(node) ? result.nodeGradient?.(node)?.dx : undefined;
      if (dx) return { start: system.start[firstIsland + k], dx };
    }
    return undefined;
  }
}

/** Every reason in one. */
function troubleOf({ reasons }: Unsolved): Solution["trouble"] {
  return {
    message: reasons.map(({ message }) => message).join("; "),
    nets: [...new Set(reasons.flatMap(({ nets }) => nets))],
  };
}

/**
 * Readings that are not yet whole: the rest is added when somebody asks for one that it belongs to, or for all. Who goes through all
 * of them is given plain objects.
 */
class LateReadings extends Map<string, Readings> {
  private rest: (() => void) | undefined;
  private plain = false;
  constructor(private readonly late: (key: string) => boolean) {
    super();
  }
  later(rest: () => void): void {
    this.rest = rest;
  }
  private complete(): void {
    const { rest } = this;
    this.rest = undefined;
    rest?.();
  }
  private spellOut(): void {
    this.complete();
    if (this.plain) return;
    this.plain = true;
    for (const [key, readings] of super.entries())
      if (readings instanceof InnerReadings) super.set(key, readings.whole());
  }
  /** What is known of a key without the rest. */
  soFar(key: string): Readings | undefined {
    return super.get(key);
  }
  override get(key: string): Readings | undefined {
    if (this.rest && this.late(key)) this.complete();
    return super.get(key);
  }
  override entries() {
    this.spellOut();
    return super.entries();
  }
  override [Symbol.iterator]() {
    return this.entries();
  }
  override values() {
    this.spellOut();
    return super.values();
  }
  override forEach(each: (value: Readings, key: string, map: Map<string, Readings>) => void): void {
    this.spellOut();
    super.forEach(each);
  }
}

const devicesOf = new KeptWith<readonly Element[], ReadonlyMap<string, Origin>>();

/** Which device tells a reading, by its key: the same at every level of a state. */
function deviceOrigins(elements: readonly Element[]): ReadonlyMap<string, Origin> {
  let found = devicesOf.get(elements);
  if (!found) {
    const origins = new Map<string, Origin>();
    elements.forEach(({ told }, device) => {
      for (const { key, quantities } of told) origins.set(key, { from: "device", device, quantities });
    });
    found = origins;
    devicesOf.set(elements, found);
  }
  return found;
}

/** readings[name] = value, the names that are met everywhere written out. */
function put(readings: Readings, name: ReadingName, value: number): void {
  switch (name) {
    case "volts":
      readings.volts = value;
      break;
    case "amps":
      readings.amps = value;
      break;
    case "rms":
      readings.rms = value;
      break;
    case "watts":
      readings.watts = value;
      break;
    default:
      readings[name] = value;
  }
}

/** A device at the solution; looked at when it is asked for, since of what is linear few ask again. */
class SolvedElement {
  readonly device: DcDevice;
  private jacobian: Float64Array | undefined;
  constructor(
    private readonly system: DcSystem,
    private readonly index: number,
    private readonly all: Float64Array,
  ) {
    this.device = system.devices[index];
  }
  get x(): Float64Array {
    return this.system.gather(this.index, this.all, doubles(this.own));
  }
  get jac(): Float64Array {
    if (!this.jacobian) {
      const { own } = this;
      if (own > scratch.x.length) scratch = { x: doubles(2 * own), f: doubles(2 * own) };
      this.jacobian = doubles(own * own);
      this.device.evaluate(this.system.gather(this.index, this.all, scratch.x), scratch.f, this.jacobian);
    }
    return this.jacobian;
  }
  private get own(): number {
    const { start } = this.system;
    return start[this.index + 1] - start[this.index];
  }
}

/** Room for one device. */
let scratch = { x: new Float64Array(16), f: new Float64Array(16) };
