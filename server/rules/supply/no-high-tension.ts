import type { Circuit, NetIndex, Part } from "../../circuit/model.ts";
import { deadSupply, discharge } from "../../facts/practice.ts";
import { reservoirFarads } from "../../facts/supply.ts";
import type { Solution } from "../../physics/results.ts";
import { finding, listed, netName, partsOn, quantity, relatedNet, relatedPart } from "../frame/index.ts";
import type { Finding, Rule } from "../rule.ts";
import { openCathodes } from "../shared/cathode-way.ts";
import { ledByCurrent } from "../shared/led.ts";
import { networkOf } from "../shared/network.ts";
import { netsWith } from "../shared/nodes.ts";
import { amplifying, type Section } from "../shared/sections.ts";
import { feedsOf, highTension, openTap } from "./high-tension.ts";

/** More nets than this are not named one by one. */
const MOST_NAMES = 6;

export const noHighTension: Rule = {
  id: "supply/no-high-tension",
  severity: "warning",
  sentence: "No high tension comes to a plate or a screen, though the amplifier has some.",
  why:
    "A dropper, choke or wire is missing, a net has the wrong name, or the supply is held at common: the stage is dead, and nothing that " +
    "was computed behind it says what it is like when it is mended.",
  source: deadSupply.source,
  quiet:
    "Quiet on files without a supply of high tension, on valves used as diodes or tied to common altogether, on what a switch cuts off " +
    "in its first position, on nets without any dc path (circuit/no-dc-path tells those), and on valves whose cathodes have none (valve/cathode-open).",
  bad: `amp "A dropper left out"
source B1 300V { plus: HT1, minus: gnd }
HT1 -- resistor R1 100k 1W 500V -- gnd
HT2 -- resistor R2 100k 1W 500V -- p1
HT2 -- resistor R5 470k 1W 500V -- gnd
valve V1 ECC83 { a { plate: p1, grid: g1, cathode: k1 } }
k1 -- resistor R3 1k5 0.5W -- gnd
g1 -- resistor R4 1M 0.5W -- gnd
`,
  good: `amp "With its dropper"
source B1 300V { plus: HT1, minus: gnd }
HT1 -- resistor R1 100k 1W 500V -- gnd
HT1 -- resistor R6 10k 1W 500V -- HT2
HT2 -- resistor R2 100k 1W 500V -- p1
HT2 -- resistor R5 470k 1W 500V -- gnd
valve V1 ECC83 { a { plate: p1, grid: g1, cathode: k1 } }
k1 -- resistor R3 1k5 0.5W -- gnd
g1 -- resistor R4 1M 0.5W -- gnd
`,
  leads: [
    ...ledByCurrent,
    { rule: "valve/bias-cold", sharing: "part", manner: "attach" },
    { rule: "valve/heater-cathode", sharing: "part", manner: "mark" },
    { rule: "valve/screen-dissipation", sharing: "part", manner: "mark" },
    { rule: "bench/reading", sharing: "any", manner: "mark" },
    { rule: "bench/reading-impossible", sharing: "any", manner: "mark" },
  ],
  *check(context) {
    const { circuit, analysis } = context;
    const idle = analysis.solution("idle", "nominal");
    if (!idle?.solved || !hasSupply(circuit, idle)) return;
    const network = networkOf(circuit);
    const groups = new Map<ReadonlySet<number> | NetIndex, Group>();
    // A valve whose current has no way out draws none: what stands at its plate says nothing of the supply.
    const idleForAnother = new Set(
      openCathodes(circuit).flatMap(({ sections }) => sections.map(({ key }) => key)),
    );
    for (const section of amplifying(circuit)) {
      yield;
      if (idleForAnother.has(section.key)) continue;
      for (const name of ["plate", "screen"] as const) {
        const net = section[name];
        if (net === undefined || usedOtherwise(circuit, section, name)) continue;
        if (name === "screen" && isExchanged(idle, section)) continue;
        context.checked(section.valve.reference);
        const volts = idle.volts[net] - idle.volts[section.cathode ?? -1];
        const amps = Math.abs(idle.readings.get(`${section.key}.${name}`)?.amps ?? Number.NaN);
        if (!(volts <= deadSupply.volts) || !(amps <= deadSupply.amps)) continue;
        const reached = network.reachedFrom(net);
        // A rail that is one with common parts what hangs on it: it belongs together all the same.
        const key = grounded(circuit, net) ?? reached;
        const group = groups.get(key) ?? { nodes: new Set<number>(), dead: [] };
        for (const node of reached) group.nodes.add(node);
        group.dead.push({ section, name, net, volts });
        groups.set(key, group);
      }
    }
    for (const { nodes, dead } of groups.values()) {
      yield;
      const nets = circuit.nets.map(({ index }) => index).filter((net) => nodes.has(network.nodeOf(net)));
      if (!isSwitchedOff(circuit, nets)) yield told(circuit, idle, nets, dead);
    }
  },
};

interface Dead {
  readonly section: Section;
  readonly name: "plate" | "screen";
  readonly net: NetIndex;
  readonly volts: number;
}

interface Group {
  readonly nodes: Set<number>;
  readonly dead: Dead[];
}

/** The cathode stands where the high tension is, and the plate where a cathode's resistor leads: the two leads are exchanged. */
function isExchanged(idle: Solution, { plate, cathode }: Section): boolean {
  if (plate === undefined || cathode === undefined) return false;
  return idle.volts[cathode] > discharge.volts && Math.abs(idle.volts[plate]) <= deadSupply.volts;
}

/** The net of a name of its own that a plate's load leads to, and that is one with circuit common. */
function grounded(circuit: Circuit, net: NetIndex): NetIndex | undefined {
  const network = networkOf(circuit);
  const last = network.wayToCommon(net)?.parts.at(-1);
  if (!last) return undefined;
  const ends = [...last.terminals.values()].filter((end) => network.nodeOf(end) === -1);
  return ends.find((end) => end !== circuit.ground && end !== circuit.chassis);
}

/** Anything at all that gives, or should give, volts that can hurt. */
function hasSupply(circuit: Circuit, idle: Solution): boolean {
  return (
    highTension(circuit).length > 0 ||
    circuit.parts.some(
      (part) =>
        part.kind === "source" &&
        [...part.terminals.values()].some((net) => Math.abs(idle.volts[net]) > discharge.volts),
    )
  );
}

/** A section used as a diode, or put to rest with all its electrodes together; a screen on its own plate goes with the plate. */
function usedOtherwise(circuit: Circuit, section: Section, name: "plate" | "screen"): boolean {
  const { [name]: net, grid, cathode, plate } = section;
  if (net === undefined || cathode === undefined) return true;
  const own = netsWith(circuit, net);
  return (
    own.includes(cathode) ||
    (grid !== undefined && own.includes(grid)) ||
    (name === "screen" && own.includes(plate ?? -1))
  );
}

/** True where a switch that is open here would join one of the nets to something else. */
function isSwitchedOff(circuit: Circuit, nets: readonly NetIndex[]): boolean {
  const own = new Set(nets);
  return circuit.parts.some((part) => {
    if (part.kind !== "switch") return false;
    return part.poles.some(({ common, throws }) =>
      [...throws.values()].some(
        (net) =>
          common !== undefined && own.has(net) !== own.has(common) && (own.has(net) || own.has(common)),
      ),
    );
  });
}

function told(circuit: Circuit, idle: Solution, nets: readonly NetIndex[], dead: readonly Dead[]): Finding {
  const network = networkOf(circuit);
  const keys = [...new Set(dead.map(({ section }) => section.key))];
  const names = [...new Set(dead.map(({ name }) => name))];
  const [first] = dead;
  const lowest = dead.reduce((a, b) => (b.volts < a.volts ? b : a));
  const what = dead.length > 1 ? names.map((name) => `${name}s`).join(" and ") : first.name;
  const rails = railsOf(circuit, idle, nets, dead);
  const rail = rails[0];
  const reversed = idle.volts[lowest.net] < -deadSupply.volts;
  const feed = feedsOf(circuit).find(({ to }) => nets.includes(to));
  // From the rectifier, or from whichever net of the supply is nearest to common: a plate's own load is none of it.
  const ways = (feed ? [feed.to] : [first.net, ...rails]).flatMap((net) => network.wayToCommon(net) ?? []);
  // A plate with nothing but its load on it: that load leads to common.
  const alone = rails.every((net) => dead.some((one) => one.net === net));
  const holding = ways
    .filter(({ ohms }) => alone || ohms <= deadSupply.holdingOhms)
    .reduce<(typeof ways)[number] | undefined>((a, b) => (a && a.ohms <= b.ohms ? a : b), undefined);
  const stands = reversed
    ? `stand${dead.length > 1 ? "" : "s"} ${quantity(-lowest.volts, "V")} below the cathode${dead.length > 1 ? "s" : ""}`
    : `${dead.length > 1 ? "have" : "has"} ${quantity(Math.max(0, lowest.volts), "V")}`;
  return finding(noHighTension, {
    message:
      `No high tension comes to ${listed(keys, MOST_NAMES)}: the ${what} ${stands} at idle. ` +
      (reversed
        ? "The supply is the wrong way round: look at its rectifier, and at which end of it is on common."
        : isExchanged(idle, first.section)
          ? `Its cathode (${netName(circuit, first.section.cathode ?? -1)}) stands at ${quantity(idle.volts[first.section.cathode ?? -1], "V")}, and its plate ` +
            `(${netName(circuit, first.net)}) leads to common: plate and cathode are exchanged. Exchange the two leads at the socket.`
          : cause(
              circuit,
              idle,
              nets,
              rails,
              holding?.parts.map((part) => labelOf(circuit, part, nets)),
              feed?.part.reference,
            )),
    on: [
      ...new Set([
        ...keys.map((key) => key.replace(/\.[^.]*$/, "")),
        ...dead.map(({ section, name }) => `${section.key}.${name}`),
        ...rails.map((net) => netName(circuit, net)),
        ...nets
          .flatMap((net) => partsOn(circuit, net))
          .flatMap((part) => (part.kind === "capacitor" ? part.reference : [])),
        ...(holding?.parts.map((part) => part.reference) ?? []),
      ]),
    ],
    place: circuit.nets[rail ?? first.net].mentions[0] ?? first.section.valve.referencePlace,
    state: "idle",
    mains: "nominal",
    value: lowest.volts,
    limit: deadSupply.volts,
    unit: "V",
    related: [
      ...(holding?.parts.slice(0, 3) ?? []).map((part) => relatedPart(part, "leads to common")),
      relatedPart(feed?.part, "feeds it"),
      ...(feed ? [] : [relatedNet(circuit, nearestSupply(circuit, idle), "the supply that there is")]),
      ...dead.slice(0, 4).map(({ section }) => relatedPart(section.valve, `${section.key} hangs on it`)),
    ],
  });
}

function cause(
  circuit: Circuit,
  idle: Solution,
  nets: readonly NetIndex[],
  rails: readonly NetIndex[],
  holding: readonly string[] | undefined,
  feeding: string | undefined,
): string {
  const alive = nets.reduce((a, b) => (idle.volts[b] > idle.volts[a] ? b : a));
  if (idle.volts[alive] > discharge.volts)
    return `${netName(circuit, alive)} has ${quantity(idle.volts[alive], "V")}, and next to nothing of it comes through: look at what stands between.`;
  const rail = rails[0] === undefined ? undefined : grounded(circuit, rails[0]);
  if (rail !== undefined && holding) {
    const joining = partsOn(circuit, rail).filter(
      (part) =>
        part.kind === "jack" || part.kind === "wire" || part.kind === "bond" || part.kind === "switch",
    );
    const by =
      joining.length > 0
        ? ` by ${listed(
            joining.map((part) => part.reference),
            MOST_NAMES,
          )}`
        : "";
    return `${netName(circuit, rail)}, where it comes from, is one with circuit common${by}: part them.`;
  }
  if (holding && feeding)
    return `${feeding} feeds it, and ${holding.length > 0 ? listed(holding, MOST_NAMES) : "a wire"} ${holding.length > 1 ? "hold" : "holds"} it at common: part them.`;
  if (holding)
    return `${holding.length > 0 ? `${listed(holding, MOST_NAMES)} ${holding.length > 1 ? "lead" : "leads"}` : "It is tied"} to circuit common where the supply belongs.`;
  const supply = nearestSupply(circuit, idle);
  const own = `${listed(
    rails.map((net) => netName(circuit, net)),
    MOST_NAMES,
  )} ${rails.length > 1 ? "hang together" : "hangs on its own"}`;
  const tap = openTap(circuit);
  if (supply === undefined && tap)
    return `${own}, and no rectifier gives any: the centre tap of ${tap.key} (${tap.net}) is joined to nothing. It belongs on circuit common.`;
  if (supply === undefined)
    return `${own}, and no rectifier gives any: look at the rectifier and its winding.`;
  return (
    `${own}, and nothing leads there from ${netName(circuit, supply)} (${quantity(idle.volts[supply], "V")}): a dropper, choke or ` +
    "wire is missing, or a net has the wrong name."
  );
}

/** The net of the highest volts that a rectifier or source gives. */
function nearestSupply(circuit: Circuit, idle: Solution): NetIndex | undefined {
  const given = feedsOf(circuit).map(({ to }) => to);
  for (const part of circuit.parts)
    if (part.kind === "source") given.push(...[part.terminals.get("plus")].flatMap((net) => net ?? []));
  let best: NetIndex | undefined;
  for (const net of given)
    if (idle.volts[net] > discharge.volts && (best === undefined || idle.volts[net] > idle.volts[best]))
      best = net;
  return best;
}

/** A transformer by the winding that is meant. */
function labelOf(circuit: Circuit, part: Part, nets: readonly NetIndex[]): string {
  if (part.kind !== "transformer") return part.reference;
  const network = networkOf(circuit);
  const winding = part.secondaries.find((row) =>
    row.nets.some((net) => nets.includes(net) && network.nodeOf(net) !== -1),
  );
  return winding ? `${part.reference}.${winding.name}` : part.reference;
}

/** Of the dead nets those that feed others: with a capacitor or more than two parts on them, and not the plates themselves. */
function railsOf(
  circuit: Circuit,
  idle: Solution,
  nets: readonly NetIndex[],
  dead: readonly Dead[],
): readonly NetIndex[] {
  const plates = new Set(dead.map(({ net }) => net));
  const network = networkOf(circuit);
  const wound = new Set(
    circuit.parts.flatMap((part) =>
      part.kind === "transformer" ? part.secondaries.flatMap((row) => row.nets) : [],
    ),
  );
  const named = nets.filter(
    (net) => network.nodeOf(net) !== -1 && !wound.has(net) && !(idle.volts[net] > discharge.volts),
  );
  const rails = named.filter((net) => {
    const parts = partsOn(circuit, net);
    const polarised = parts.some((part) => part.kind === "capacitor" && part.farads.value >= reservoirFarads);
    return polarised || (!plates.has(net) && parts.length > 2);
  });
  return rails.length > 0 ? rails : nets.filter((net) => plates.has(net));
}
