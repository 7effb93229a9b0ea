/** What hangs on an output transformer's secondary. */
import type { Circuit, NetIndex, OutputTransformer, Part, Speaker } from "../../circuit/model.ts";
import { solveDense } from "../../physics/linear/dense.ts";
import { doubles } from "../../physics/linear/slabs.ts";
import { netsOf, partsOn } from "../frame/index.ts";
import { netsWith } from "../shared/nodes.ts";

export interface SpeakerLoad {
  /** Which tap: its net, its rated ohms. */
  readonly net: NetIndex;
  readonly tapOhms: number;
  readonly speakers: readonly Speaker[];
  /** Nominal impedance of everything between the tap and the common; infinite without any. */
  readonly ohms: number;
  /** Resistors alone, without the loudspeakers. */
  readonly safetyOhms: number;
  /** Jacks that the way goes through. */
  readonly jacks: readonly Part[];
}

/** Loads by tap, in the order of the winding. Nominal impedances are added like resistances. */
export function loadsOf(circuit: Circuit, transformer: OutputTransformer): readonly SpeakerLoad[] {
  const { speaker } = transformer;
  if (!speaker || speaker.nets.length < 2) return [];
  // Tapped: the common is written first. Plain: the end that is circuit common, the second otherwise.
  const plain = speaker.nets.length === 2;
  const [first, second] = speaker.nets;
  const isCommon = (net: NetIndex) => netsWith(circuit, net).includes(circuit.ground ?? -1);
  const common = plain ? (isCommon(first) && !isCommon(second) ? first : second) : first;
  const taps = plain ? [common === first ? second : first] : speaker.nets.slice(1);
  return taps.map((net, index) => {
    const group = netsWith(circuit, net);
    const way = around(circuit, net, common);
    const speakers = way.filter((part): part is Speaker => part.kind === "speaker");
    return {
      net,
      tapOhms: speaker.ohms[index] ?? speaker.ohms[0] ?? Number.NaN,
      speakers,
      ohms: ohmsBetween(circuit, net, common, way),
      safetyOhms: ohmsBetween(
        circuit,
        net,
        common,
        way.filter((part) => part.kind === "resistor"),
      ),
      jacks: group.flatMap((own) => partsOn(circuit, own)).filter((part) => part.kind === "jack"),
    };
  });
}

const LOADS = ["speaker", "resistor", "pot"];

/** Speakers and resistors on the secondary's side, found from a tap without passing the common. */
function around(circuit: Circuit, tap: NetIndex, common: NetIndex): readonly Part[] {
  const stop = new Set(netsWith(circuit, common));
  const seen = new Set<NetIndex>(netsWith(circuit, tap));
  const found = new Set<Part>();
  for (const net of seen) {
    if (stop.has(net)) continue;
    for (const part of partsOn(circuit, net)) {
      if (!LOADS.includes(part.kind)) continue;
      // A feedback resistor of thousands of ohms leads out of the load, not through it.
      if (part.kind !== "speaker" && ohmsOf(part) > 1000) continue;
      found.add(part);
      for (const next of netsOf(part)) for (const own of netsWith(circuit, next)) seen.add(own);
    }
  }
  return [...found];
}

const ohmsOf = (part: Part): number =>
  part.kind === "speaker" || part.kind === "resistor" || part.kind === "pot"
    ? part.ohms.value
    : Number.POSITIVE_INFINITY;

/** A loose end stands where nothing flows, and makes nothing singular. */
const LEAK_SIEMENS = 1e-12;

interface LoadBranch {
  readonly part: Part;
  /** Nets that stand for all that is joined to them. */
  readonly a: NetIndex;
  readonly b: NetIndex;
  readonly siemens: number;
}

function branchesOf(circuit: Circuit, parts: readonly Part[]): readonly LoadBranch[] {
  return parts.flatMap((part) => {
    const [a, b] = [...part.terminals.values()].map((net) => keyOf(circuit, net));
    return b === undefined ? [] : [{ part, a, b, siemens: 1 / Math.max(ohmsOf(part), 1e-3) }];
  });
}

/** Nets that metal joins have one between them. */
const keyOf = (circuit: Circuit, net: NetIndex): NetIndex => netsWith(circuit, net)[0];

/**
 * @param held volts of nets, by key
 * @param pushed amperes into nets, by key
 * @returns the volts of every net named, by key; undefined where there is no one solution
 */
function voltsOf(
  branches: readonly LoadBranch[],
  held: ReadonlyMap<NetIndex, number>,
  pushed: ReadonlyMap<NetIndex, number>,
): ((key: NetIndex) => number) | undefined {
  const index = new Map<NetIndex, number>();
  for (const key of [...held.keys(), ...pushed.keys(), ...branches.flatMap(({ a, b }) => [a, b])])
    if (!index.has(key)) index.set(key, index.size);
  const size = index.size;
  const at = (key: NetIndex) => index.get(key) as number;
  const matrix = doubles(size * size);
  const volts = doubles(size);
  for (const { a, b, siemens } of branches) {
    matrix[at(a) * (size + 1)] += siemens;
    matrix[at(b) * (size + 1)] += siemens;
    matrix[at(a) * size + at(b)] -= siemens;
    matrix[at(b) * size + at(a)] -= siemens;
  }
  for (const [key, row] of index) {
    const own = held.get(key);
    if (own !== undefined) matrix.fill(0, row * size, (row + 1) * size);
    matrix[row * (size + 1)] += own === undefined ? LEAK_SIEMENS : 1;
    volts[row] = own ?? pushed.get(key) ?? 0;
  }
  return solveDense(matrix, volts, size) ? (key) => volts[at(key)] : undefined;
}

/** Resistance between two nets through some two-ended parts; infinite where nothing leads from one to the other. */
function ohmsBetween(circuit: Circuit, from: NetIndex, to: NetIndex, parts: readonly Part[]): number {
  const [source, sink] = [keyOf(circuit, from), keyOf(circuit, to)];
  if (source === sink) return 0;
  const volts = voltsOf(branchesOf(circuit, parts), new Map([[sink, 0]]), new Map([[source, 1]]));
  const ohms = volts?.(source) ?? Number.POSITIVE_INFINITY;
  return ohms > 1e9 ? Number.POSITIVE_INFINITY : ohms;
}

export interface Between {
  /** What is drawn of the whole stage, of which a load that matches its tap draws 1. */
  readonly drawn: number;
  /** The part of it that each loudspeaker takes. */
  readonly shares: ReadonlyMap<Speaker, number>;
  /** Of a loudspeaker straight between two points of the winding: their rated ohms, and those that the turns between them ask for. */
  readonly taps: ReadonlyMap<Speaker, { readonly ohms: readonly [number, number]; readonly asks: number }>;
}

/**
 * What hangs between two taps: each tap's volts are as its turns, and those as the root of its ohms. Undefined where every
 * loudspeaker hangs between one tap and the beginning.
 */
export function loadBetween(circuit: Circuit, transformer: OutputTransformer): Between | undefined {
  const { speaker } = transformer;
  if (!speaker || speaker.nets.length < 3) return undefined;
  const loads = loadsOf(circuit, transformer).filter((load) => load.speakers.length > 0);
  const all = loads.flatMap((load) => load.speakers);
  if (new Set(all).size === all.length) return undefined;
  const held = new Map(
    speaker.nets.map((net, tap) => [
      keyOf(circuit, net),
      tap === 0 ? 0 : Math.sqrt(speaker.ohms[tap - 1] ?? Number.NaN),
    ]),
  );
  const branches = branchesOf(circuit, [
    ...new Set(loads.flatMap((load) => around(circuit, load.net, speaker.nets[0]))),
  ]);
  const volts = voltsOf(branches, held, new Map());
  if (!volts) return undefined;
  let drawn = 0;
  const shares = new Map<Speaker, number>();
  const taps = new Map<Speaker, { ohms: readonly [number, number]; asks: number }>();
  for (const { part, a, b, siemens } of branches) {
    const own = (volts(a) - volts(b)) ** 2 * siemens;
    drawn += own;
    if (part.kind !== "speaker") continue;
    shares.set(part, own);
    const [low, high] = [held.get(a), held.get(b)].sort((x, y) => (x ?? Number.NaN) - (y ?? Number.NaN));
    if (low !== undefined && high !== undefined)
      taps.set(part, { ohms: [low ** 2, high ** 2], asks: (high - low) ** 2 });
  }
  return { drawn, shares, taps };
}
