import { KeptWith } from "../../circuit/kept-with.ts";
import type { Capacitor, Circuit, MainsLevel, NetIndex, Part } from "../../circuit/model.ts";
import { discharge as practice } from "../../facts/practice.ts";
import type { Analysis, Discharge } from "../../physics/results.ts";
import { ends, limit, listed, netsOf, partsOf, partsOn, quantity, relatedPart } from "../frame/index.ts";
import type { Fix, Rule, RuleContext } from "../rule.ts";
import { type Network, networkOf } from "../shared/network.ts";
import { netsWith, sameNode, topologyOf } from "../shared/nodes.ts";
import { ohmsDownCoarse, writeOhms } from "../shared/values.ts";

export const discharge: Rule = {
  id: "supply/discharge",
  severity: "warning",
  sentence: "After switch-off the reservoirs hold a dangerous voltage for too long.",
  why: "Whoever opens it to change a valve, with the valves cold or out, finds the whole HT still there. A bleeder across the reservoir costs nothing.",
  source: practice.source,
  quiet:
    "Quiet when every capacitor is below 60 V within a minute with the valves in and out, and on capacitors that never hold 60 V. One finding a chain: the slowest of it.",
  caution:
    "Never trust a bleeder: measure every reservoir before you touch anything, and discharge it through a resistor.",
  bad: `amp "A bleeder of a megohm"
transformer T1 60VA {
  primary 230V 20R           { a b }
  ht      230V 200mA 60R     { x y }
}
bridge BR1 1000V 1A { ac1: x, ac2: y, plus: HT, minus: gnd }
HT -- capacitor C1 100u 450V electrolytic -- gnd
HT -- resistor R1 1M 1W 500V -- gnd
`,
  good: `amp "A bleeder of 220 k"
transformer T1 60VA {
  primary 230V 20R           { a b }
  ht      230V 200mA 60R     { x y }
}
bridge BR1 1000V 1A { ac1: x, ac2: y, plus: HT, minus: gnd }
HT -- capacitor C1 100u 450V electrolytic -- gnd
HT -- resistor R1 220k 2W 500V -- gnd
`,
  *check(context) {
    // Each of these is found once, and takes its time where there are thousands of parts.
    if (hasStandby(context.circuit)) networkOf(context.circuit, "standby");
    yield;
    const slow = slowest(context);
    yield;
    for (const group of chains(context.circuit, slow)) {
      yield;
      const [worst] = group;
      if (!Number.isFinite(worst.seconds)) continue;
      const joules = group.reduce((sum, entry) => sum + entry.found.joules, 0);
      const energy =
        joules >= practice.burnJoules
          ? "enough to kill and to burn"
          : joules >= practice.shockJoules
            ? "enough to kill"
            : undefined;
      const found = limit(context, discharge, {
        on: group.map((entry) => entry.part.reference),
        place: worst.part.referencePlace,
        says: `${worst.part.reference} takes, to fall from ${quantity(worst.found.volts, "V")} to ${practice.volts} V,`,
        value: worst.seconds,
        limit: practice.seconds,
        limitIs: "practice asks for",
        unit: "s",
        mains: worst.mains,
        note: `${worst.how}; ${listed(group.map((entry) => entry.part.reference))} ${group.length > 1 ? "hold" : "holds"} ${quantity(joules, "J")}${energy ? `, ${energy}` : ""}`,
        ...bleeder(context, worst, group),
        related: group
          .slice(1, 5)
          .map((entry) => relatedPart(entry.part, `${entry.part.reference} hangs on the same chain`))
          .concat(bleeders(context.circuit, group).map((part) => relatedPart(part, "all that empties it"))),
      });
      if (found) yield found;
    }
  },
};

/** The resistors straight across the capacitors of a group, or from them to common: what is there to empty them. */
function bleeders(circuit: Circuit, group: readonly Slow[]): readonly Part[] {
  const found = new Set<Part>();
  for (const { part } of group) {
    const own: readonly NetIndex[] = ends(part) ?? [];
    for (const other of own.filter((net) => net !== circuit.ground).flatMap((net) => partsOn(circuit, net))) {
      const both = other.kind === "resistor" ? ends(other) : undefined;
      if (both?.every((net) => net === circuit.ground || own.includes(net))) found.add(other);
    }
  }
  return [...found].slice(0, 4);
}

export interface Slow {
  readonly part: Capacitor;
  readonly seconds: number;
  readonly found: Discharge;
  readonly mains: MainsLevel;
  /** How it is found so slow: "valves in", "valves out", "standby open". */
  readonly how: "valves in" | "valves out" | "standby open";
  /** With the standby switch open and the heaters hot the valves have emptied it: only cold, or out, do they not. */
  readonly drained?: boolean;
}

const known = new KeptWith<Analysis, readonly Slow[]>();

/** Every capacitor that holds a dangerous charge, with the longest time it takes, slowest first. */
export function slowest({ analysis }: RuleContext): readonly Slow[] {
  let slow = known.get(analysis);
  if (!slow) {
    slow = findSlowest(analysis);
    known.set(analysis, slow);
  }
  return slow;
}

function findSlowest(analysis: Analysis): readonly Slow[] {
  const { circuit } = analysis;
  const cut = new Map<Capacitor, boolean>();
  const isCut = (part: Capacitor): boolean => {
    const found = cut.get(part) ?? cutOff(circuit, part);
    cut.set(part, found);
    return found;
  };
  const most = new Map<string, Slow>();
  const keep = (entry: Slow) => {
    const known = most.get(entry.part.reference);
    if (!known || entry.seconds > known.seconds) most.set(entry.part.reference, entry);
  };
  // What starts higher takes longer: high mains tells, and another level only where that has no solution.
  for (const mains of ["high", "nominal", "low"] as const) {
    const states = analysis.discharge.get(mains);
    if (!states) continue;
    for (const [how, entries] of [
      ["valves in", states.warm],
      ["valves out", states.out],
    ] as const) {
      for (const [reference, found] of entries) {
        const part = circuit.partByReference.get(reference);
        if (part?.kind !== "capacitor" || !dangerous(part, found) || heldBySource(circuit, part)) continue;
        keep({ part, seconds: found.secondsTo60V, found, mains, how });
        if (isCut(part)) {
          const volts = standbyVolts(analysis, part, mains);
          const drained = volts <= practice.volts;
          const left = drained ? found : charged(part, found, volts);
          keep({ part, seconds: Number.POSITIVE_INFINITY, found: left, mains, how: "standby open", drained });
        }
      }
    }
    // Nothing dangerous at this level is nothing at a lower one.
    if (states.warm.size + states.out.size > 0) break;
  }
  return [...most.values()].sort((a, b) => b.seconds - a.seconds);
}

/** Volts across a capacitor while the standby switch is open; not a number where that was not solved. */
function standbyVolts(analysis: Analysis, part: Capacitor, mains: MainsLevel): number {
  const volts = analysis.solution("standby", mains)?.volts;
  const both = ends(part);
  return volts && both ? Math.abs(volts[both[0]] - volts[both[1]]) : Number.NaN;
}

/** What it holds at so many volts, where they are known and more than it was found with: unloaded it stands higher than at idle. */
function charged(part: Capacitor, found: Discharge, volts: number): Discharge {
  if (!(volts > found.volts)) return found;
  const { secondsTo60V, secondsTo50V } = found;
  return { volts, joules: (part.farads.value * volts ** 2) / 2, secondsTo60V, secondsTo50V };
}

/** More volts and more charge than one may touch. */
function dangerous(part: Capacitor, found: Discharge): boolean {
  return found.volts > practice.volts && found.volts * part.farads.value > practice.coulombs;
}

/** A bench source never switches off: what hangs on one, by resistance or through a valve, is nobody's reservoir. */
function heldBySource(circuit: Circuit, part: Capacitor): boolean {
  const network = networkOf(circuit);
  let nodes = sourced.get(network);
  if (!nodes) {
    nodes = nodesOnSources(circuit, network);
    sourced.set(network, nodes);
  }
  return (ends(part) ?? []).some((net) => nodes.has(network.nodeOf(endOfString(circuit, part, net))));
}

const sourced = new KeptWith<Network, ReadonlySet<number>>();

/** Nodes, common left out, that a bench source comes to by resistance, through a valve, a diode or a bridge. */
function nodesOnSources(circuit: Circuit, network: Network): ReadonlySet<number> {
  const seen = new Set<NetIndex>();
  const found = new Set<number>();
  const come = (net: NetIndex) => {
    if (network.nodeOf(net) < 0 || found.has(network.nodeOf(net))) return;
    for (const node of network.reachedFrom(net)) {
      if (node < 0 || found.has(node)) continue;
      found.add(node);
      for (const own of topologyOf(circuit).nets[node]) seen.add(own);
    }
  };
  for (const source of partsOf(circuit, "source")) for (const net of source.terminals.values()) come(net);
  for (const net of seen) for (const next of conductedFrom(circuit, net)) come(next);
  return found;
}

/** Nets that a valve, a diode or a bridge on a net passes current to. */
function conductedFrom(circuit: Circuit, net: NetIndex): readonly NetIndex[] {
  return partsOn(circuit, net).flatMap((part) => {
    const groups =
      part.kind === "valve"
        ? part.sections.map(({ electrodes }) =>
            [...electrodes].filter(([name]) => name !== "grid").map(([, to]) => to),
          )
        : part.kind === "diode" || part.kind === "zener" || part.kind === "bridge"
          ? [netsOf(part)]
          : [];
    return groups.filter((group) => group.includes(net)).flat();
  });
}

const hasStandby = (circuit: Circuit): boolean =>
  partsOf(circuit, "switch").some((part) => part.duty === "standby");

/** True where the open standby switch leaves the capacitor without a resistor from one end to the other. */
function cutOff(circuit: Circuit, part: Capacitor): boolean {
  const own = ends(part);
  if (!own || !hasStandby(circuit)) return false;
  const both = own.map((net) => endOfString(circuit, part, net));
  const open = networkOf(circuit, "standby");
  const closed = networkOf(circuit);
  const joined = (network: typeof open) => {
    const [a, b] = both.map((net) => network.nodeOf(net));
    // Through common as well: the far end may hang on it by another way.
    const reached = network.reachedFrom(both[0]);
    return a === b || reached.has(b) || (reached.has(-1) && (b < 0 || network.reachedFrom(both[1]).has(-1)));
  };
  return joined(closed) && !joined(open);
}

/** Where a string of capacitors that nothing else touches between them ends, gone out from one of its own by one of its nets. */
function endOfString(circuit: Circuit, from: Capacitor, net: NetIndex): NetIndex {
  const gone = new Set<Part>([from]);
  for (let at = net; ; ) {
    const others = new Set(netsWith(circuit, at).flatMap((own) => partsOn(circuit, own)));
    for (const part of gone) others.delete(part);
    const [next] = others;
    const far =
      others.size === 1 && next?.kind === "capacitor"
        ? ends(next)?.find((other) => !sameNode(circuit, other, at))
        : undefined;
    if (far === undefined || !next) return at;
    gone.add(next);
    at = far;
  }
}

/** Groups of capacitors that empty together, through resistors, chokes and windings; slowest first in each. */
export function chains(circuit: Circuit, slow: readonly Slow[]): Slow[][] {
  const groups: Slow[][] = [];
  const firstOn = new Map<NetIndex, number>();
  for (const entry of slow) {
    const own = ends(entry.part) ?? [];
    let group = Number.POSITIVE_INFINITY;
    for (const net of own) if (net !== circuit.ground) group = Math.min(group, firstOn.get(net) ?? group);
    if (Number.isFinite(group)) groups[group].push(entry);
    else {
      for (const net of chained(circuit, own)) if (!firstOn.has(net)) firstOn.set(net, groups.length);
      groups.push([entry]);
    }
  }
  return groups;
}

function chained(circuit: Circuit, from: readonly number[]): ReadonlySet<number> {
  const stop = new Set<number>(circuit.ground === undefined ? [] : netsWith(circuit, circuit.ground));
  const seen = new Set<number>(from.filter((net) => !stop.has(net)));
  for (const net of seen) {
    for (const own of netsWith(circuit, net)) if (!stop.has(own)) seen.add(own);
    for (const part of partsOn(circuit, net)) {
      if (
        !["resistor", "choke", "output-transformer", "pot", "thermistor", "capacitor", "switch"].includes(
          part.kind,
        )
      )
        continue;
      if (part.kind === "capacitor" && !part.polarised) continue;
      for (const next of netsOf(part)) if (!stop.has(next)) seen.add(next);
    }
  }
  return seen;
}

/** A resistor that brings a group of capacitors down in the time of practice, and the line that puts it in. */
export function bleeder(
  context: RuleContext,
  worst: Slow,
  group: readonly Slow[],
): { todo: string; fix?: Fix } {
  const farads = group.reduce((sum, entry) => sum + entry.part.farads.value, 0);
  // R = t / (C ln(V/60)), with the capacitors a fifth large.
  const ohms = ohmsDownCoarse(
    practice.seconds / (1.2 * farads * Math.log(worst.found.volts / practice.volts)),
  );
  const watts = worst.found.volts ** 2 / ohms;
  const text = `A bleeder of ${writeOhms(ohms)} across ${worst.part.reference} does it; it dissipates ${quantity(watts, "W")}, so of twice that, and of a body that holds ${quantity(worst.found.volts, "V")}.`;
  const [plus, minus] = ends(worst.part) ?? [];
  if (plus === undefined || minus === undefined) return { todo: text };
  const names = [plus, minus].map((net) => context.circuit.nets[net]?.name ?? "");
  if (names.some((name) => name === "" || name.includes("."))) return { todo: text };
  let number = 1;
  while (context.circuit.partByReference.has(`R${number}`)) number++;
  const { file, range } = endOf(worst.part);
  return {
    todo: text,
    fix: {
      title: `Put a bleeder of ${writeOhms(ohms)} across ${worst.part.reference}`,
      edits: [
        {
          place: { file, range: { start: range.end, end: range.end } },
          text: `\n${names[0]} -- resistor R${number} ${writeOhms(ohms)} ${Math.max(3, Math.ceil(2 * watts))}W metal-oxide ${Math.ceil((worst.found.volts * 1.1) / 50) * 50}V -- ${names[1]}`,
        },
      ],
    },
  };
}

/** The last word of the capacitor's own piece: its far net. */
export function endOf(part: Capacitor) {
  const places = [part.place, ...part.terminalPlaces.values()].filter(
    (place) => place.file === part.place.file,
  );
  return places.reduce((last, place) => (place.range.end > last.range.end ? place : last));
}
