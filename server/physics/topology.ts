/**
 * Nets to nodes: what conducts without resistance (wire, bond, fuse, closed switch, jack contact…) is merged, and circuit common
 * is chosen. The merged conductors are kept, so that their currents can be told afterwards by Kirchhoff's current law.
 */
import type { Circuit, NetIndex, Part, Switch } from "../circuit/model.ts";
import { integers } from "./linear/slabs.ts";

/** A piece of ideal conductor between two nets. */
export interface Conductor {
  readonly from: NetIndex;
  readonly to: NetIndex;
  /** Key of its readings: `F1`, `S1`, `S1.2` (a pole), `R7.top`; undefined for the metal of a jack. */
  readonly key?: string;
  readonly reference: string;
}

export interface Topology {
  readonly circuit: Circuit;
  /** Position of each switch by reference; nothing else of the conditions changes the nodes. */
  readonly positions: ReadonlyMap<string, string>;
  /** Node by net index; -1 is circuit common. */
  readonly node: Int32Array;
  readonly nodeCount: number;
  /** Nets of each node, ascending. */
  readonly nets: readonly (readonly NetIndex[])[];
  readonly commonNets: readonly NetIndex[];
  /** The net that stands for circuit common, and the sentence that says so where it is not `gnd`. */
  readonly common: { readonly net: NetIndex; readonly told?: string };
  /** Nodes of the cord's (or inlet's) active and neutral; absent without one. */
  readonly mains?: { readonly active: number; readonly neutral: number };
  readonly conductors: readonly Conductor[];
}

/** Nets and nodes of a circuit with its switches in the given positions. */
export function findTopology(circuit: Circuit, positions: ReadonlyMap<string, string>): Topology {
  const count = circuit.nets.length;
  const conductors = conductorsOf(circuit, positions);
  const parent = integers(count);
  for (let n = 0; n < count; n++) parent[n] = n;
  const root = (net: number): number => {
    let r = net;
    while (parent[r] !== r) {
      parent[r] = parent[parent[r]];
      r = parent[r];
    }
    return r;
  };
  for (const { from, to } of conductors) parent[root(from)] = root(to);
  const common = chooseCommon(circuit);
  const commonRoot = count > 0 ? root(common.net) : -1;
  const node = integers(count);
  const numberOfRoot = integers(count).fill(-2);
  if (count > 0) numberOfRoot[commonRoot] = -1;
  const nets: number[][] = [];
  const commonNets: number[] = [];
  for (let n = 0; n < count; n++) {
    const r = root(n);
    if (numberOfRoot[r] === -2) {
      numberOfRoot[r] = nets.length;
      nets.push([]);
    }
    node[n] = numberOfRoot[r];
    (node[n] === -1 ? commonNets : nets[node[n]]).push(n);
  }
  const feed = circuit.parts.find(
    (part) =>
      (part.kind === "cord" || part.kind === "inlet") &&
      part.leads.has("active") &&
      part.leads.has("neutral"),
  );
  let mains: Topology["mains"];
  if (feed && (feed.kind === "cord" || feed.kind === "inlet")) {
    mains = {
      active: node[feed.leads.get("active")!.net],
      neutral: node[feed.leads.get("neutral")!.net],
    };
  }
  return { circuit, positions, node, nodeCount: nets.length, nets, commonNets, common, mains, conductors };
}

/** `gnd`, else the metalwork, else a net called so, else the minus of a source, else the first net. */
function chooseCommon(circuit: Circuit): { net: NetIndex; told?: string } {
  if (circuit.ground !== undefined) return { net: circuit.ground };
  const tell = (net: NetIndex): { net: NetIndex; told: string } => ({
    net,
    told: `no net is called gnd: volts are told from ${circuit.nets[net]?.name ?? "the first net"}`,
  });
  if (circuit.chassis !== undefined) return tell(circuit.chassis);
  const named = circuit.nets.find((net) => /^(0v|com|common|ground|earth)$/i.test(net.name));
  if (named) return tell(named.index);
  for (const part of circuit.parts) {
    const minus = part.kind === "source" ? part.terminals.get("minus") : undefined;
    if (minus !== undefined) return tell(minus);
  }
  for (const part of circuit.parts) {
    const minus = part.kind === "capacitor" && part.polarised ? part.terminals.get("minus") : undefined;
    if (minus !== undefined) return tell(minus);
  }
  return circuit.nets.length > 0 ? tell(0) : { net: 0 };
}

/** A value that conducts without resistance; a negative one makes no sense and is taken so too. */
export function isIdeal(ohms: number): boolean {
  return ohms <= 0;
}

/** Everything that conducts without resistance, with the switches as given and no plug in any jack. */
function conductorsOf(circuit: Circuit, positions: ReadonlyMap<string, string>): Conductor[] {
  const found: Conductor[] = [];
  const join = (part: Part, from: NetIndex | undefined, to: NetIndex | undefined, key?: string): void => {
    if (from === undefined || to === undefined) return;
    found.push({ from, to, key, reference: part.reference });
  };
  for (const part of circuit.parts) {
    const at = (terminal: string): NetIndex | undefined => part.terminals.get(terminal);
    switch (part.kind) {
      case "wire":
      case "bond":
        join(part, at("a"), at("b"), part.reference);
        break;
      case "fuse":
        join(part, at("tip"), at("ring"), part.reference);
        break;
      case "switch":
        joinPoles(part, positions.get(part.reference), join);
        break;
      case "jack":
        for (const contact of ["tip", "ring", "sleeve"]) join(part, at(contact), at(`${contact}-break`));
        if (!part.insulated) join(part, at("sleeve"), circuit.chassis);
        break;
      case "resistor":
        if (isIdeal(part.ohms.value)) join(part, at("a"), at("b"), part.reference);
        break;
      case "thermistor":
        if (isIdeal((part.hotOhms ?? part.ohms).value)) join(part, at("a"), at("b"), part.reference);
        break;
      case "pot": {
        const share = potShare(part.setting.value);
        if (isIdeal(part.ohms.value * (1 - share))) {
          join(part, at("top"), at("wiper"), `${part.reference}.top`);
        }
        if (isIdeal(part.ohms.value * share)) {
          join(part, at("wiper"), at("bottom"), `${part.reference}.bottom`);
        }
        break;
      }
      case "output-transformer":
        for (const [name, winding] of [
          ["plates", part.plates],
          ["speaker", part.speaker],
        ] as const) {
          if (!winding || !isIdeal(winding.resistance.value)) continue;
          for (let s = 1; s < winding.nets.length; s++) {
            join(part, winding.nets[s - 1], winding.nets[s], `${part.reference}.${name}.${s}`);
          }
        }
        break;
      default:
        break;
    }
  }
  return found;
}

function joinPoles(
  part: Switch,
  position: string | undefined,
  join: (part: Part, from: NetIndex | undefined, to: NetIndex | undefined, key?: string) => void,
): void {
  if (position === undefined) return;
  for (const pole of part.poles) {
    const key = part.poles.length > 1 && pole.name !== "" ? `${part.reference}.${pole.name}` : part.reference;
    join(part, pole.common, pole.throws.get(position), key);
  }
}

/** A pot's setting as a share from 0 to 1, whatever was written. */
export function potShare(setting: number): number {
  return setting >= 0 ? Math.min(setting, 1) : 0;
}
