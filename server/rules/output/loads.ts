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
  for (let column = 0; column < size; column++) {
    let pivot = column;
    for (let row = column + 1; row < size; row++)
      if (Math.abs(rows[row][column]) > Math.abs(rows[pivot][column])) pivot = row;
    if (rows[pivot][column] === 0) return Number.POSITIVE_INFINITY;
    [rows[column], rows[pivot]] = [rows[pivot], rows[column]];
    for (let row = 0; row < size; row++) {
      if (row === column) continue;
      const factor = rows[row][column] / rows[column][column];
      for (let k = column; k <= size; k++) rows[row][k] -= factor * rows[column][k];
    }
  }
  const ohms = rows[source][size] / rows[source][source];
  return ohms > 1e9 ? Number.POSITIVE_INFINITY : ohms;
}
