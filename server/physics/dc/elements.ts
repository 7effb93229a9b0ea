/**
 * Parts to devices: what each part is at direct current, which of its quantities are told, and under which keys
 * (server/physics/results.ts).
 */
import type { Circuit, NetIndex, Part, Valve } from "../../circuit/model.ts";
import { neonLamp, speakerResistanceShare, zenerSlope } from "../../facts/lamps.ts";
import { bookOf } from "../../facts/valves/book.ts";
import type { DcDevice, DiodeLaw, SectionLaw } from "../device.ts";
import { rectifierLaw, sectionLaw, semiconductorLaw, zenerLaw } from "../laws/index.ts";
import { logistic, softplus } from "../laws/smooth.ts";
import type { ReadingName } from "../results.ts";
import type { Conditions } from "../states.ts";
import type { SupplyIsland } from "../supply/island.ts";
import { isIdeal, potShare, type Topology } from "../topology.ts";
import {
  bothWays,
  CATHODE,
  DiodeDevice,
  GRID,
  OpenDevice,
  PLATE,
  PotDevice,
  ResistorDevice,
  SCREEN,
  SectionDevice,
  SourceDevice,
} from "./devices.ts";

/** A reading in terms of its device's own unknowns and currents. */
export interface LocalQuantity {
  readonly reading: ReadingName;
  /** Volts between two terminals (the second -1: to common); amperes into a terminal; the product of both. */
  readonly kind: "volts" | "amps" | "size" | "watts";
  readonly plus: number;
  readonly minus: number;
  readonly terminal: number;
  /** -1 turns the sign of amps. */
  readonly sign: 1 | -1;
}

/** What is told under one key. */
export interface Told {
  readonly key: string;
  readonly quantities: readonly LocalQuantity[];
}

export interface Element {
  readonly device: DcDevice;
  /** Net of each terminal, -1 where it has none of its own. */
  readonly nets: readonly number[];
  readonly told: readonly Told[];
}

export interface Elements {
  readonly elements: readonly Element[];
  readonly sections: readonly SectionDevice[];
  /** Pairs of nodes joined by a capacitor (those to common first), a cold valve or an empty socket: the likeliest first. */
  readonly leaks: readonly (readonly [number, number])[];
  /** Sentences on what had to be estimated. */
  readonly estimates: readonly string[];
  /** Neon lamps that are not burning, to look at afterwards. */
  readonly neons: readonly { readonly reference: string; readonly nodes: readonly [number, number] }[];
}

/** Laws may be handed in by tests; the published ones otherwise. */
export interface Laws {
  readonly section: (type: string, section: string) => SectionLaw | undefined;
  readonly rectifier: (type: string) => DiodeLaw | undefined;
  readonly semiconductor: (type?: string, ratedAmps?: number) => DiodeLaw;
}

export const publishedLaws: Laws = {
  section: sectionLaw,
  rectifier: rectifierLaw,
  semiconductor: semiconductorLaw,
};

/** Everything outside the islands. @param burning references of neon lamps that burn */
export function buildElements(
  circuit: Circuit,
  topology: Topology,
  conditions: Conditions,
  islands: readonly SupplyIsland[],
  burning: ReadonlySet<string>,
  laws: Laws = publishedLaws,
): Elements {
  const builder = new Builder(circuit, topology, conditions, burning, laws);
  const swallowed = new Set<string>();
  const heated = new Set<string>();
  for (const island of islands) {
    for (const reference of island.parts) swallowed.add(reference);
    for (const reference of island.heaters) heated.add(reference);
  }
  for (const part of circuit.parts) {
    if (!swallowed.has(part.reference)) builder.add(part, heated.has(part.reference));
  }
  return builder;
}

class Builder implements Elements {
  readonly elements: Element[] = [];
  readonly sections: SectionDevice[] = [];
  private readonly bypassed: [number, number][] = [];
  private readonly coupled: [number, number][] = [];
  private readonly unheated: [number, number][] = [];
  readonly estimates: string[] = [];
  readonly neons: { reference: string; nodes: [number, number] }[] = [];

  constructor(
    private readonly circuit: Circuit,
    private readonly topology: Topology,
    private readonly conditions: Conditions,
    private readonly burning: ReadonlySet<string>,
    private readonly laws: Laws,
  ) {}

  get leaks(): readonly (readonly [number, number])[] {
    return [...this.bypassed, ...this.coupled, ...this.unheated];
  }

  add(part: Part, heated: boolean): void {
    switch (part.kind) {
      case "resistor":
        this.twoTerminal(part, "a", "b", part.ohms.value, part.tolerance.value);
        break;
      case "thermistor":
        this.twoTerminal(part, "a", "b", (part.hotOhms ?? part.ohms).value, part.tolerance.value);
        break;
      case "choke":
        if (part.ohms.origin === "estimate") this.tell(`${part.reference}: its resistance is estimated`);
        // A choke is never a link, whatever its wire: a milliohm keeps its two nets apart for the ripple.
        this.twoTerminal(part, "a", "b", Math.max(part.ohms.value, 1e-3), part.tolerance.value);
        break;
      case "speaker":
        this.twoTerminal(part, "a", "b", part.ohms.value * speakerResistanceShare, 0);
        break;
      case "lamp":
        this.lamp(part);
        break;
      case "pot":
        this.pot(part);
        break;
      case "capacitor": {
        const nets = this.ends(part, part.polarised ? "plus" : "a", part.polarised ? "minus" : "b");
        if (!nets) break;
        const nodes = this.nodesOf(nets);
        (nodes[0] < 0 || nodes[1] < 0 ? this.bypassed : this.coupled).push([nodes[0], nodes[1]]);
        this.push(new OpenDevice(part.reference, nodes), nets, [{ key: part.reference, quantities: ACROSS }]);
        break;
      }
      case "diode": {
        const nets = this.ends(part, "anode", "cathode");
        if (nets) this.diode(part.reference, nets, this.laws.semiconductor(part.type, part.amps?.value));
        break;
      }
      case "zener": {
        const nets = this.ends(part, "anode", "cathode");
        if (nets) this.zener(part, nets);
        break;
      }
      case "bridge":
        this.bridge(part);
        break;
      case "valve":
        this.valve(part, heated);
        break;
      case "transformer":
        for (const winding of [...(part.primary ? [part.primary] : []), ...part.secondaries]) {
          const total = winding.segmentVolts.reduce((sum, v) => sum + Math.abs(v), 0);
          this.winding(
            `${part.reference}.${winding.name}`,
            winding.nets,
            winding.segmentVolts.map((v) => (winding.ohms.value * Math.abs(v)) / (total || 1)),
          );
        }
        break;
      case "output-transformer":
        this.outputTransformer(part);
        break;
      case "source": {
        const nets = this.ends(part, "plus", "minus");
        if (!nets) break;
        const { reference } = part;
        const ohms = Math.max(part.ohms.value, 0);
        const device = new SourceDevice(reference, this.nodesOf(nets), part.volts.value, ohms);
        this.push(device, nets, [{ key: reference, quantities: DELIVERED }]);
        break;
      }
      default:
        break;
    }
  }

  private tell(sentence: string): void {
    this.estimates.push(sentence);
  }

  private push(device: DcDevice, nets: readonly number[], told: readonly Told[]): void {
    this.elements.push({ device, nets, told });
  }

  private ends(part: Part, first: string, second: string): [NetIndex, NetIndex] | undefined {
    const a = part.terminals.get(first);
    const b = part.terminals.get(second);
    return a === undefined || b === undefined ? undefined : [a, b];
  }

  private nodesOf(nets: readonly NetIndex[]): number[] {
    return nets.map((net) => this.topology.node[net]);
  }

  /** Anything that is a resistance. One without any is a conductor already merged; one that makes no sense is open. */
  private twoTerminal(part: Part, first: string, second: string, ohms: number, tolerance: number): void {
    const nets = this.ends(part, first, second);
    if (nets) this.resistance(part.reference, nets, ohms, tolerance);
  }

  private resistance(
    key: string,
    nets: readonly [NetIndex, NetIndex],
    ohms: number,
    tolerance: number,
  ): void {
    if (isIdeal(ohms)) return;
    const nodes = this.nodesOf(nets);
    if (!Number.isFinite(1 / ohms)) {
      this.push(new OpenDevice(key, nodes), nets, [{ key, quantities: ACROSS }]);
      return;
    }
    this.push(new ResistorDevice(key, nodes, ohms, tolerance), nets, [{ key, quantities: THROUGH }]);
  }

  private pot(part: Extract<Part, { kind: "pot" }>): void {
    const [top, wiper, bottom] = ["top", "wiper", "bottom"].map((name) => part.terminals.get(name));
    const share = potShare(part.setting.value);
    const upper = part.ohms.value * (1 - share);
    const lower = part.ohms.value * share;
    const { reference } = part;
    const tolerance = part.tolerance.value;
    if (top !== undefined && wiper !== undefined && bottom !== undefined && upper > 0 && lower > 0) {
      const nets = [top, wiper, bottom];
      this.push(new PotDevice(reference, this.nodesOf(nets), upper, lower, tolerance), nets, [
        { key: reference, quantities: TRACK },
        { key: `${reference}.top`, quantities: THROUGH },
        { key: `${reference}.bottom`, quantities: LOWER_HALF },
      ]);
      return;
    }
    if (top !== undefined && wiper !== undefined) {
      this.resistance(`${reference}.top`, [top, wiper], upper, tolerance);
    }
    if (wiper !== undefined && bottom !== undefined) {
      this.resistance(`${reference}.bottom`, [wiper, bottom], lower, tolerance);
    }
    // Wired by its ends alone: the whole track.
    if (wiper === undefined && top !== undefined && bottom !== undefined) {
      this.resistance(reference, [top, bottom], part.ohms.value, tolerance);
    }
  }

  private lamp(part: Extract<Part, { kind: "lamp" }>): void {
    const nets = this.ends(part, "a", "b");
    if (!nets) return;
    const { reference } = part;
    if (part.neon) {
      const nodes = this.nodesOf(nets);
      if (this.burning.has(reference)) {
        const law = bothWays(burningLaw(neonLamp.burningVolts, neonLamp.slopeOhms));
        this.push(new DiodeDevice(reference, nodes, law), nets, [{ key: reference, quantities: THROUGH }]);
      } else {
        this.neons.push({ reference, nodes: [nodes[0], nodes[1]] });
        this.push(new OpenDevice(reference, nodes), nets, [{ key: reference, quantities: ACROSS }]);
      }
      return;
    }
    const rated = part.volts?.value;
    const current = part.amps?.value ?? (rated && part.watts ? part.watts.value / rated : undefined);
    if (rated && current) this.resistance(reference, nets, rated / current, 0);
    else {
      this.tell(`${reference}: its current is not given, so it is taken to draw none`);
      this.resistance(reference, nets, Number.POSITIVE_INFINITY, 0);
    }
  }

  private diode(key: string, nets: readonly [NetIndex, NetIndex], law: DiodeLaw): void {
    this.push(new DiodeDevice(key, this.nodesOf(nets), law), nets, [{ key, quantities: RECTIFIED }]);
  }

  private zener(part: Extract<Part, { kind: "zener" }>, nets: readonly [NetIndex, NetIndex]): void {
    const rated = part.volts.value;
    const { voltsShare, wattsShare, watts: usual } = zenerSlope;
    const slope =
      part.ohms?.value ?? (voltsShare * rated * rated) / (wattsShare * (part.watts?.value ?? usual));
    const law = zenerLaw(rated, slope);
    const out = new Float64Array(2);
    this.push(
      new DiodeDevice(part.reference, this.nodesOf(nets), law, [
        {
          reference: part.reference,
          tolerance: part.tolerance.value,
          // Its volts differ: the breakdown moves along, so di/d(ln V) = (di/dv) * V there.
          derivative(x, into) {
            const across = x[0] - x[1];
            law.evaluate(across, out);
            const moved = across < 0 ? out[1] * rated : 0;
            into[0] = moved;
            into[1] = -moved;
          },
        },
      ]),
      nets,
      [{ key: part.reference, quantities: THROUGH }],
    );
  }

  private bridge(part: Extract<Part, { kind: "bridge" }>): void {
    const law = this.laws.semiconductor(part.type, part.amps?.value);
    const arms = [
      ["ac1", "plus"],
      ["ac2", "plus"],
      ["minus", "ac1"],
      ["minus", "ac2"],
    ] as const;
    arms.forEach(([anode, cathode], k) => {
      const nets = this.ends(part, anode, cathode);
      if (nets) this.diode(`${part.reference}.${k + 1}`, nets, law);
    });
  }

  private valve(part: Valve, heated: boolean): void {
    const { reference } = part;
    const facts = part.type === undefined ? undefined : bookOf(this.circuit).find(part.type);
    const out = this.conditions.pulled.has(reference);
    const unlit = this.conditions.unlit.has(reference);
    const warm = !out && !unlit && (!this.conditions.cold || facts?.heating === "direct");
    for (const written of part.sections) {
      const key = written.name === "" ? reference : `${reference}.${written.name}`;
      const at = (name: string): NetIndex | undefined => written.electrodes.get(name);
      const cathode = at("cathode");
      if (cathode === undefined) continue;
      const plates = (["plate1", "plate2"] as const).filter((name) => at(name) !== undefined);
      if (facts?.kind === "rectifier" || plates.length > 0) {
        const law = part.type === undefined ? undefined : this.laws.rectifier(part.type);
        for (const name of plates.length > 0 ? plates : (["plate"] as const)) {
          const plate = at(name);
          if (plate === undefined) continue;
          if (law && warm) this.diode(`${key}.${name}`, [plate, cathode], law);
          else this.leak(plate, cathode);
        }
        continue;
      }
      const law = part.type === undefined ? undefined : this.laws.section(part.type, written.name);
      if (!law) this.tell(`${key}: nothing is known of its type's currents, so it is taken to draw none`);
      if (!law || !warm) {
        for (const name of ["plate", "screen"]) {
          const net = at(name);
          if (net !== undefined) this.leak(net, cathode);
        }
        if (!out) this.coldVolts(key, written.electrodes, cathode);
        continue;
      }
      const node = (net: NetIndex | undefined): number => this.topology.node[net ?? cathode];
      const names = [at("grid"), at("screen"), at("plate"), cathode];
      const spread = this.circuit.assumptions.valveSpread.value;
      const device = new SectionDevice(key, names.map(node), law, reference, spread);
      const told: Told[] = [{ key: `${key}.cathode`, quantities: CATHODE_ONLY }];
      for (const [name, terminal, quantities] of ELECTRODES) {
        if (at(name) === undefined) device.release(terminal);
        else told.push({ key: `${key}.${name}`, quantities });
      }
      this.sections.push(device);
      this.push(
        device,
        names.map((net) => net ?? -1),
        told,
      );
    }
    if (part.heater && !out && !heated && facts) {
      const found =
        facts.heater.find((arrangement) => arrangement.name === part.heater!.wiring) ?? facts.heater[0];
      if (found) this.resistance(`${reference}.heater`, part.heater.nets, found.volts / found.amps, 0);
    }
  }

  private leak(a: NetIndex, b: NetIndex): void {
    this.unheated.push([this.topology.node[a], this.topology.node[b]]);
  }

  /** A valve that draws nothing still has volts on it. */
  private coldVolts(key: string, electrodes: ReadonlyMap<string, NetIndex>, cathode: NetIndex): void {
    for (const name of ["plate", "screen", "grid"]) {
      const net = electrodes.get(name);
      if (net === undefined) continue;
      const nets = [net, cathode];
      const own = `${key}.${name}`;
      this.push(new OpenDevice(own, this.nodesOf(nets)), nets, [{ key: own, quantities: THROUGH }]);
    }
    const own = `${key}.cathode`;
    this.push(
      new OpenDevice(own, this.nodesOf([cathode])),
      [cathode],
      [{ key: own, quantities: COLD_CATHODE }],
    );
  }

  /** A winding by its segments; the whole of it carries what its first segment does. */
  private winding(key: string, nets: readonly NetIndex[], segmentOhms: readonly number[]): void {
    for (let s = 0; s + 1 < nets.length; s++) {
      const own = `${key}.${s + 1}`;
      const ends: [NetIndex, NetIndex] = [nets[s], nets[s + 1]];
      if (isIdeal(segmentOhms[s]) || !Number.isFinite(1 / segmentOhms[s])) continue;
      const told: Told[] = [{ key: own, quantities: THROUGH }];
      if (nets.length === 2) told.push({ key, quantities: THROUGH });
      this.push(new ResistorDevice(own, this.nodesOf(ends), segmentOhms[s], 0), ends, told);
    }
  }

  private outputTransformer(part: Extract<Part, { kind: "output-transformer" }>): void {
    const { plates, speaker } = part;
    if (plates) {
      if (plates.resistance.origin === "estimate") {
        this.tell(`${part.reference}.plates: its resistance is estimated`);
      }
      this.winding(
        `${part.reference}.plates`,
        plates.nets,
        plateShares(plates.nets.length, plates.tap?.value).map((share) => share * plates.resistance.value),
      );
    }
    if (speaker) {
      this.winding(
        `${part.reference}.speaker`,
        speaker.nets,
        speakerShares(speaker.nets.length, speaker.ohms).map((share) => share * speaker.resistance.value),
      );
    }
  }
}

/**
 * Share of the turns of each segment of a plates winding: pA HT | pA HT pB | pA uA HT uB pB, and a single-ended one with a screen
 * tap, pA uA HT, which is known by having a tap.
 * @param tap share of a half's turns between the supply and the screen tap
 */
export function plateShares(nets: number, tap: number | undefined): number[] {
  const t = tap !== undefined && tap > 0 && tap < 1 ? tap : undefined;
  if (nets === 5) return [(1 - (t ?? 0.5)) / 2, (t ?? 0.5) / 2, (t ?? 0.5) / 2, (1 - (t ?? 0.5)) / 2];
  if (nets === 3 && t !== undefined) return [1 - t, t];
  return new Array(Math.max(nets - 1, 0)).fill(1 / Math.max(nets - 1, 1));
}

/** Turns go as the root of the impedance, from the common end on. */
export function speakerShares(nets: number, ohms: readonly number[]): number[] {
  if (ohms.length !== nets - 1 || ohms.some((z) => !(z > 0))) {
    return new Array(Math.max(nets - 1, 0)).fill(1 / Math.max(nets - 1, 1));
  }
  const turns = ohms.map(Math.sqrt);
  const whole = Math.max(...turns);
  return turns.map((n, k) => Math.abs(n - (k > 0 ? turns[k - 1] : 0)) / whole);
}

/** A lamp that burns: little below its volts, its slope above. */
function burningLaw(holds: number, ohms: number): DiodeLaw {
  const width = 0.5;
  return {
    evaluate(v, out) {
      const z = (v - holds) / width;
      out[0] = (width * softplus(z)) / ohms;
      out[1] = logistic(z) / ohms;
    },
  };
}

function volts(plus: number, minus: number): LocalQuantity {
  return { reading: "volts", kind: "volts", plus, minus, terminal: -1, sign: 1 };
}

function amps(terminal: number, sign: 1 | -1): LocalQuantity {
  return { reading: "amps", kind: "amps", plus: -1, minus: -1, terminal, sign };
}

/** Volts, amperes (positive from `plus` to `minus`), their size and their product. */
function through(plus: number, minus: number, terminal: number, sign: 1 | -1 = 1): readonly LocalQuantity[] {
  return [
    volts(plus, minus),
    amps(terminal, sign),
    { ...amps(terminal, sign), reading: "rms", kind: "size" },
    { reading: "watts", kind: "watts", plus, minus, terminal, sign },
  ];
}

const ACROSS = [volts(0, 1)];
const THROUGH = through(0, 1, 0);
const TRACK = [volts(0, 2)];
const LOWER_HALF = through(1, 2, 2, -1);
const RECTIFIED: readonly LocalQuantity[] = [...THROUGH, { ...volts(1, 0), reading: "inverse" }];
/** What a source gives: out of its plus, and so as watts. */
const DELIVERED: readonly LocalQuantity[] = [
  volts(0, 1),
  amps(0, -1),
  { reading: "watts", kind: "watts", plus: 0, minus: 1, terminal: 0, sign: -1 },
];
const CATHODE_ONLY = [volts(CATHODE, -1), amps(CATHODE, -1)];
const COLD_CATHODE = [volts(0, -1), amps(0, 1)];
const ELECTRODES = [
  ["plate", PLATE, through(PLATE, CATHODE, PLATE)],
  ["screen", SCREEN, through(SCREEN, CATHODE, SCREEN)],
  ["grid", GRID, through(GRID, CATHODE, GRID)],
] as const;
