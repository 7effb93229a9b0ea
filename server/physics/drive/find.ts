/**
 * Output stages in a circuit: for every output transformer with a plates winding, the valve sections that feed it, the
 * nodes that move with the signal, and the ports that capacitors (or the supply) hold still.
 */
import type { Circuit, OutputTransformer, Part, Valve } from "../../circuit/model.ts";
import { holding, plateStopper } from "../../facts/practice.ts";
import type { SectionLaw } from "../device.ts";
import type { Topology } from "../topology.ts";

export interface FoundSection {
  readonly key: string;
  readonly law: SectionLaw;
  readonly side: 1 | -1;
  /** Nodes of the topology. */
  readonly grid: number;
  readonly plate: number;
  readonly screen?: number;
  readonly cathode: number;
  /** Ends of the filament that is its cathode, where it is. */
  readonly filament?: readonly number[];
}

/** A resistance between two nodes of the topology that carries signal. */
export interface FoundResistance {
  readonly key: string;
  readonly from: number;
  readonly to: number;
  readonly ohms: number;
}

export interface FoundStage {
  readonly transformer: OutputTransformer;
  /** Nodes of our own, for a winding without resistance whose ends the topology has merged: the node each is part of. */
  readonly split: ReadonlyMap<number, number>;
  /** Resistors that hold a cathode's bias, from node to node: no signal in them, but the cathode's average current. */
  readonly biasResistances: readonly FoundResistance[];
  readonly sections: readonly FoundSection[];
  /** Ends of the primary: first plate, common (HT), second plate if push-pull; taps where ultra-linear. */
  readonly first: number;
  readonly common: number;
  readonly second?: number;
  readonly taps: readonly number[];
  readonly tapShare: number;
  readonly resistances: readonly FoundResistance[];
  /** Nodes that move with the signal. */
  readonly moving: readonly number[];
  /** The speaker's (or dummy load's) reflection. */
  readonly load: StageLoad;
}

export interface StageLoad {
  /** Ohms across the whole plates winding: plate to plate, or of the single-ended primary. */
  readonly ohms: number;
  /** Part of the power that reaches the load: the rest is lost in the speaker winding. */
  readonly delivered: number;
  /** False: nothing hangs on the speaker winding; the nominal load is taken. */
  readonly fitted: boolean;
}

export type LawOf = (type: string, section: string) => SectionLaw | undefined;

export function findStages(circuit: Circuit, topology: Topology, lawOf: LawOf): FoundStage[] {
  const stages: FoundStage[] = [];
  for (const part of circuit.parts) {
    if (part.kind !== "output-transformer" || !part.plates) continue;
    const stage = findStage(circuit, topology, lawOf, part);
    if (stage) stages.push(stage);
  }
  return stages;
}

function findStage(
  circuit: Circuit,
  topology: Topology,
  lawOf: LawOf,
  transformer: OutputTransformer,
): FoundStage | undefined {
  const plates = transformer.plates!;
  const { nodeAt, split } = splitWinding(topology, plates.nets);
  const nodes = plates.nets.map(nodeAt);
  const tapShare = plates.tap?.value ?? 0;
  let first: number;
  let common: number;
  let second: number | undefined;
  let taps: number[] = [];
  if (nodes.length === 2) [first, common] = nodes;
  else if (nodes.length === 3 && tapShare > 0) {
    [first, , common] = nodes;
    taps = [nodes[1]];
  } else if (nodes.length === 3) [first, common, second] = nodes;
  else if (nodes.length === 5) {
    [first, , common, , second] = nodes;
    if (tapShare > 0) taps = [nodes[1], nodes[3]];
  } else return undefined;

  const near = resistorsByNode(circuit, nodeAt);
  const sections: FoundSection[] = [];
  const stoppers: FoundResistance[] = [];
  /** A plate at the winding's end, or behind a parasitic stopper from it. */
  const sideOf = (plate: number): { side: 1 | -1; stopper?: FoundResistance } | undefined => {
    if (plate === first) return { side: 1 };
    if (plate === second) return { side: -1 };
    for (const stopper of near.get(plate) ?? []) {
      const other = stopper.from === plate ? stopper.to : stopper.from;
      if (stopper.ohms > plateStopper.mostOhms) continue;
      if (other === first) return { side: 1, stopper };
      if (other === second) return { side: -1, stopper };
    }
    return undefined;
  };
  for (const valve of circuit.parts) {
    if (valve.kind !== "valve" || valve.type === undefined) continue;
    for (const section of (valve as Valve).sections) {
      const node = (electrode: string) => {
        const net = section.electrodes.get(electrode);
        return net === undefined ? undefined : nodeAt(net);
      };
      const plate = node("plate");
      const grid = node("grid");
      const cathode = node("cathode");
      if (plate === undefined || grid === undefined || cathode === undefined) continue;
      const end = sideOf(plate);
      if (!end) continue;
      const law = lawOf(valve.type, section.name);
      if (!law) continue;
      if (end.stopper) stoppers.push(end.stopper);
      const key = section.name === "" ? valve.reference : `${valve.reference}.${section.name}`;
      const ends = (valve as Valve).heater?.nets.map(nodeAt);
      const filament = ends?.includes(cathode) && cathode >= 0 ? ends : undefined;
      sections.push({ key, law, side: end.side, grid, plate, screen: node("screen"), cathode, filament });
    }
  }
  if (sections.length === 0) return undefined;

  // Moving nodes: the winding's ends and taps, plates, and screens and cathodes that nothing holds; then onwards
  // through resistors until something does.
  const held = heldNodes(circuit, topology);
  held.add(common);
  const moving = new Set<number>([first, ...taps]);
  if (second !== undefined) moving.add(second);
  for (const node of moving) held.delete(node);
  for (const section of sections) moving.add(section.plate);
  const open: number[] = [];
  const visit = (node: number | undefined) => {
    if (node === undefined || held.has(node) || moving.has(node)) return;
    moving.add(node);
    open.push(node);
  };
  // A filament's ends are as still as what heats it.
  const filaments = new Map<FoundSection, ReadonlySet<number>>();
  for (const section of sections) {
    if (!section.filament) continue;
    const own = filamentNodes(circuit, nodeAt, near, section.filament);
    filaments.set(section, own);
    if ([...own].some((node) => held.has(node) && !moving.has(node))) for (const node of own) held.add(node);
  }
  for (const section of sections) {
    visit(section.screen);
    visit(section.cathode);
  }
  const resistances = new Map<FoundResistance, true>();
  for (const stopper of stoppers) resistances.set(stopper, true);
  const follow = (node: number) => {
    for (const resistance of near.get(node) ?? []) {
      resistances.set(resistance, true);
      visit(resistance.from === node ? resistance.to : resistance.from);
    }
  };
  for (let i = 0; i < open.length; i++) follow(open[i]);
  // A moving node that no resistance or winding ties to anything cannot be: hold it instead.
  for (const node of [...moving]) {
    const tied = node === first || node === second || taps.includes(node);
    const led = [...resistances.keys()].some((r) => r.from === node || r.to === node);
    if (!tied && !led) moving.delete(node);
  }
  const biasResistances = new Set<FoundResistance>();
  for (const section of sections) {
    const { cathode } = section;
    if (cathode < 0 || moving.has(cathode)) continue;
    const own = filaments.get(section) ?? new Set([cathode]);
    for (const node of own) {
      for (const resistance of near.get(node) ?? []) {
        // What lies within the filament's circuit carries its heating.
        const within = own.has(resistance.from) && own.has(resistance.to);
        if (!within && !resistances.has(resistance)) biasResistances.add(resistance);
      }
    }
  }
  return {
    transformer,
    split,
    biasResistances: [...biasResistances],
    sections,
    first,
    common,
    second,
    taps,
    tapShare,
    resistances: [...resistances.keys()],
    moving: [...moving],
    load: loadOf(circuit, topology, transformer),
  };
}

/**
 * Everything that a filament's heating passes through: its winding with its taps, what makes direct current of it, and the middle of a
 * pot or of two resistors across it. From there its cathode current leaves.
 */
function filamentNodes(
  circuit: Circuit,
  nodeAt: (net: number) => number,
  near: ReadonlyMap<number, readonly FoundResistance[]>,
  ends: readonly number[],
): ReadonlySet<number> {
  const own = new Set(ends.filter((node) => node >= 0));
  const joined: number[][] = [];
  for (const part of circuit.parts) {
    if (part.kind === "transformer") for (const { nets } of part.secondaries) joined.push(nets.map(nodeAt));
    else if (part.kind === "bridge" || part.kind === "diode" || part.kind === "choke")
      joined.push([...part.terminals.values()].map(nodeAt));
  }
  for (let size = -1; size !== own.size; ) {
    size = own.size;
    for (const nodes of joined)
      if (nodes.some((node) => own.has(node))) for (const node of nodes) if (node >= 0) own.add(node);
    const reached = new Map<number, number>();
    for (const node of own) {
      for (const { from, to } of near.get(node) ?? []) {
        const other = from === node ? to : from;
        if (other < 0 || own.has(other)) continue;
        const first = reached.get(other);
        if (first === undefined) reached.set(other, node);
        else if (first !== node) own.add(other);
      }
    }
  }
  return own;
}

/**
 * The nodes of a winding's nets. A winding written without resistance conducts ideally at dc, and the topology has merged
 * its ends; to the signal they are apart, so each but the supply's end gets a node of its own.
 */
function splitWinding(topology: Topology, nets: readonly number[]) {
  const split = new Map<number, number>();
  const own = new Map<number, number>();
  const common = nets[nets.length === 2 ? 1 : Math.floor(nets.length / 2)];
  nets.forEach((net, i) => {
    if (net === common || !nets.some((other) => other !== net && topology.node[other] === topology.node[net]))
      return;
    const node = topology.nodeCount + i;
    own.set(net, node);
    split.set(node, topology.node[net]);
  });
  return { split, nodeAt: (net: number) => own.get(net) ?? topology.node[net] };
}

/** Every resistance that signal current could take, by node. */
function resistorsByNode(circuit: Circuit, nodeAt: (net: number) => number): Map<number, FoundResistance[]> {
  const near = new Map<number, FoundResistance[]>();
  const add = (key: string, part: Part, a: string, b: string, ohms: number) => {
    const from = part.terminals.get(a);
    const to = part.terminals.get(b);
    if (from === undefined || to === undefined || !(ohms > 0)) return;
    const found = { key, from: nodeAt(from), to: nodeAt(to), ohms };
    if (found.from === found.to) return;
    for (const node of [found.from, found.to]) {
      const list = near.get(node);
      if (list) list.push(found);
      else near.set(node, [found]);
    }
  };
  for (const part of circuit.parts) {
    if (part.kind === "resistor") add(part.reference, part, "a", "b", part.ohms.value);
    else if (part.kind === "thermistor")
      add(part.reference, part, "a", "b", (part.hotOhms ?? part.ohms).value);
    else if (part.kind === "pot") {
      const share = Math.min(Math.max(part.setting.value, 0), 1);
      add(`${part.reference}.top`, part, "top", "wiper", part.ohms.value * (1 - share));
      add(`${part.reference}.bottom`, part, "wiper", "bottom", part.ohms.value * share);
    }
  }
  return near;
}

/**
 * Nodes that do not move with the signal: circuit common, what a large capacitor ties to another such node, and what a
 * choke, diode, lamp, supply winding or source sits on (their own behaviour is the supply's, not the signal's).
 */
function heldNodes(circuit: Circuit, topology: Topology): Set<number> {
  const held = new Set<number>([-1]);
  const ties: [number, number][] = [];
  for (const part of circuit.parts) {
    const nodes = [...part.terminals.values()].map((net) => topology.node[net]);
    switch (part.kind) {
      case "choke":
      case "diode":
      case "zener":
      case "bridge":
      case "lamp":
      case "source":
        for (const node of nodes) held.add(node);
        break;
      case "transformer":
        for (const winding of [...(part.primary ? [part.primary] : []), ...part.secondaries]) {
          for (const net of winding.nets) held.add(topology.node[net]);
        }
        break;
      case "capacitor":
        if (part.farads.value >= holding.farads && nodes.length === 2) ties.push([nodes[0], nodes[1]]);
        break;
      case "valve":
        // A rectifier valve's cathode feeds the supply.
        for (const section of part.sections) {
          const cathode = section.electrodes.get("cathode");
          if (section.electrodes.has("plate1") || section.electrodes.has("plate2")) {
            if (cathode !== undefined) held.add(topology.node[cathode]);
          }
        }
        break;
    }
  }
  for (let changed = true; changed; ) {
    changed = false;
    for (const [a, b] of ties) {
      if (held.has(a) !== held.has(b)) {
        held.add(a);
        held.add(b);
        changed = true;
      }
    }
  }
  return held;
}

/**
 * What hangs on the speaker winding, reflected to the plates by the square of the turns. Nominal impedances give the
 * turns; the winding's resistance is shared among its taps by turns.
 */
function loadOf(circuit: Circuit, topology: Topology, transformer: OutputTransformer): StageLoad {
  const plates = transformer.plates!;
  const nominal = { ohms: plates.ohms.value, delivered: 1, fitted: false };
  const speaker = transformer.speaker;
  if (!speaker || !(plates.ohms.value > 0)) return nominal;
  // Turns at each net, as a part of the plates winding's.
  const turns = new Map<number, number>();
  const offset = speaker.nets.length - speaker.ohms.length;
  speaker.nets.forEach((net, i) => {
    const ohms = i < offset ? 0 : speaker.ohms[i - offset];
    turns.set(topology.node[net], Math.sqrt(ohms / plates.ohms.value));
  });
  // A plain winding may be written hot end first: { spk gnd }.
  if (speaker.nets.length === 2 && speaker.ohms.length === 1) {
    turns.set(topology.node[speaker.nets[0]], 0);
    turns.set(topology.node[speaker.nets[1]], Math.sqrt(speaker.ohms[0] / plates.ohms.value));
  }
  const most = Math.max(...turns.values());
  if (!(most > 0)) return nominal;
  // Loads side by side on one pair of taps share the copper between them.
  const pairs = new Map<string, { turns: number; siemens: number }>();
  for (const part of circuit.parts) {
    // A dummy load stands for a speaker; what is larger is a feedback or bleeder resistor.
    if (part.kind !== "speaker" && !(part.kind === "resistor" && part.ohms.value <= 100)) continue;
    const nodes = ["a", "b"].map((terminal) => {
      const net = part.terminals.get(terminal);
      return net === undefined ? Number.NaN : topology.node[net];
    });
    const [a, b] = nodes.map((node) => turns.get(node));
    if (a === undefined || b === undefined || a === b || !(part.ohms.value > 0)) continue;
    const key = `${Math.min(...nodes)} ${Math.max(...nodes)}`;
    const known = pairs.get(key) ?? { turns: Math.abs(a - b), siemens: 0 };
    known.siemens += 1 / part.ohms.value;
    pairs.set(key, known);
  }
  let siemens = 0;
  let useful = 0;
  for (const pair of pairs.values()) {
    const ohms = 1 / pair.siemens;
    const copper = Math.max(speaker.resistance.value, 0) * (pair.turns / most);
    const one = (pair.turns * pair.turns) / (ohms + copper);
    siemens += one;
    useful += (one * ohms) / (ohms + copper);
  }
  if (!(siemens > 0)) return nominal;
  return { ohms: 1 / siemens, delivered: useful / siemens, fitted: true };
}
