/** What hangs on an output transformer's secondary. */
import type { Circuit, NetIndex, OutputTransformer, Part, Speaker } from "../../circuit/model.ts";
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

/** Resistance between two nets through some two-ended parts, by solving their nodes. */
function ohmsBetween(circuit: Circuit, from: NetIndex, to: NetIndex, parts: readonly Part[]): number {
  const index = new Map<number, number>();
  const nodeOf = (net: NetIndex) => {
    const key = netsWith(circuit, net)[0];
    let at = index.get(key);
    if (at === undefined) {
      at = index.size;
      index.set(key, at);
    }
    return at;
  };
  const source = nodeOf(from);
  const sink = nodeOf(to);
  if (source === sink) return 0;
  const branches = parts.flatMap((part) => {
    const nets = [...part.terminals.values()];
    return nets.length < 2
      ? []
      : [{ a: nodeOf(nets[0]), b: nodeOf(nets[1]), siemens: 1 / Math.max(ohmsOf(part), 1e-3) }];
  });
  const size = index.size;
  const rows = Array.from({ length: size }, () => doubles(size + 1));
  for (const { a, b, siemens } of branches) {
    rows[a][a] += siemens;
    rows[b][b] += siemens;
    rows[a][b] -= siemens;
    rows[b][a] -= siemens;
  }
  // A picosiemens to the sink keeps a loose end from making it singular.
  for (let i = 0; i < size; i++) {
    rows[i][i] += 1e-12;
    rows[i][sink] -= 1e-12;
  }
  rows[sink].fill(0);
  rows[sink][sink] = 1;
  rows[source][size] += 1;
  const volts = eliminate(rows);
  if (!volts) return Number.POSITIVE_INFINITY;
  const ohms = volts[source];
  return ohms > 1e9 ? Number.POSITIVE_INFINITY : ohms;
}

/** Gauss and Jordan, in place: rows of a square matrix with the right-hand side behind; undefined where it is singular. */
function eliminate(rows: readonly Float64Array[]): readonly number[] | undefined {
  const size = rows.length;
  const order = [...rows];
  for (let column = 0; column < size; column++) {
    let pivot = column;
    for (let row = column + 1; row < size; row++)
      if (Math.abs(order[row][column]) > Math.abs(order[pivot][column])) pivot = row;
    if (order[pivot][column] === 0) return undefined;
    [order[column], order[pivot]] = [order[pivot], order[column]];
    for (let row = 0; row < size; row++) {
      if (row === column) continue;
      const factor = order[row][column] / order[column][column];
      for (let k = column; k <= size; k++) order[row][k] -= factor * order[column][k];
    }
  }
  return order.map((row, at) => row[size] / row[at]);
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
  const key = (net: NetIndex) => netsWith(circuit, net)[0];
  const held = new Map(
    speaker.nets.map((net, tap) => [
      key(net),
      tap === 0 ? 0 : Math.sqrt(speaker.ohms[tap - 1] ?? Number.NaN),
    ]),
  );
  const parts = [...new Set(loads.flatMap((load) => around(circuit, load.net, speaker.nets[0])))].filter(
    (part) => part.terminals.size >= 2,
  );
  const index = new Map<number, number>();
  for (const net of [...speaker.nets, ...parts.flatMap((part) => [...part.terminals.values()])])
    if (!index.has(key(net))) index.set(key(net), index.size);
  const at = (net: NetIndex) => index.get(key(net)) ?? 0;
  const branches = parts.map((part) => {
    const [a, b] = [...part.terminals.values()];
    return { part, a, b, siemens: 1 / Math.max(ohmsOf(part), 1e-3) };
  });
  const rows = Array.from({ length: index.size }, () => doubles(index.size + 1));
  for (const { a, b, siemens } of branches) {
    rows[at(a)][at(a)] += siemens;
    rows[at(b)][at(b)] += siemens;
    rows[at(a)][at(b)] -= siemens;
    rows[at(b)][at(a)] -= siemens;
  }
  for (const [net, row] of index) {
    const volts = held.get(net);
    // A loose end stands where nothing flows.
    rows[row][row] += 1e-12;
    if (volts === undefined) continue;
    rows[row].fill(0);
    rows[row][row] = 1;
    rows[row][index.size] = volts;
  }
  const volts = eliminate(rows);
  if (!volts) return undefined;
  let drawn = 0;
  const shares = new Map<Speaker, number>();
  const taps = new Map<Speaker, { ohms: readonly [number, number]; asks: number }>();
  for (const { part, a, b, siemens } of branches) {
    const own = (volts[at(a)] - volts[at(b)]) ** 2 * siemens;
    drawn += own;
    if (part.kind !== "speaker") continue;
    shares.set(part, own);
    const [low, high] = [held.get(key(a)), held.get(key(b))].sort(
      (x, y) => (x ?? Number.NaN) - (y ?? Number.NaN),
    );
    if (low !== undefined && high !== undefined)
      taps.set(part, { ohms: [low ** 2, high ** 2], asks: (high - low) ** 2 });
  }
  return { drawn, shares, taps };
}
