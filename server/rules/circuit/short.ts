import { KeptWith } from "../../circuit/kept-with.ts";
import type { Circuit, NetIndex, Part, Place, Switch, Transformer, Winding } from "../../circuit/model.ts";
import { discharge } from "../../facts/practice.ts";
import { reservoirFarads } from "../../facts/supply.ts";
import { switchPosition } from "../../physics/states.ts";
import { called, ends, finding, listed, netName, partsOf, relatedPart } from "../frame/index.ts";
import type { Finding, Lead, Rule } from "../rule.ts";
import { suppliesOnWindings } from "./supply-on-winding.ts";

/** What a shorted winding or supply drives past its limits: its doing, as long as it is there. */
const ledBySupplyShort: readonly Lead[] = [
  "mains/cord-rating",
  "mains/fuse-value",
  "mains/switch-rating",
  "rating/diode-current",
  "rating/capacitor-ripple",
  "supply/rectifier-direct-current",
  "supply/rectifier-peak-current",
  "supply/no-high-tension",
  "supply/ripple",
  "supply/transformer-load",
  "supply/winding-current",
  "valve/bias-cold",
  "valve/heater-voltage",
].map((rule) => ({ rule, sharing: "any", manner: "mark" }));

export const short: Rule = {
  id: "circuit/short",
  severity: "error",
  sentence: "A source, a winding or a part has its two ends on one net.",
  why: "A shorted winding burns its transformer; a part that is shorted does nothing, and is a wire in the wrong place.",
  source: "common practice",
  quiet:
    "Quiet on a lift between common and chassis beside a bond, on a pot whose wiper is tied to an end (a variable resistor), on a part that a switch or a jack shorts, and on " +
    "wires and bonds themselves. A shorted passive part is a warning; a source, a winding or a supply that is shorted to common is an error.",
  bad: `amp "Shorted source"
source B1 300V { plus: HT1, minus: gnd }
HT1 -- wire W1 -- gnd
HT1 -- resistor R1 100k 1W 500V -- p1
p1 -- resistor R2 100k 1W 500V -- gnd
`,
  good: `amp "Nothing shorted"
source B1 300V { plus: HT1, minus: gnd }
HT1 -- wire W1 -- HT2
HT2 -- resistor R1 100k 1W 500V -- p1
p1 -- resistor R2 100k 1W 500V -- gnd
`,
  leads: [
    ...ledBySupplyShort,
    { rule: "supply/heater-current", sharing: "part", manner: "attach" },
    { rule: "circuit/not-solved", sharing: "any", manner: "attach" },
    { rule: "circuit/no-dc-path", sharing: "part", manner: "mark" },
  ],
  *check(context) {
    const { circuit } = context;
    const told = new Set<NetIndex>();
    const loads: { readonly node: NetIndex; readonly found: Finding }[] = [];
    const wired = joinedBy(circuit, (part) => part.kind === "wire" || part.kind === "bond");
    const running = joinedBy(
      circuit,
      (part) => part.kind === "wire" || part.kind === "bond" || part.kind === "fuse",
      (part) => switchPosition(circuit, part, "idle"),
    );
    for (const part of circuit.parts) {
      yield;
      switch (part.kind) {
        case "source": {
          const pair = ends(part);
          if (!pair) break;
          context.checked(part.reference);
          if (running(pair[0]) === running(pair[1])) {
            told.add(running(pair[0]));
            yield shorted(circuit, part, part.place, "plus and minus", pair, "error");
          }
          break;
        }
        case "transformer":
          for (const winding of [part.primary, ...part.secondaries]) {
            if (!winding) continue;
            context.checked(`${part.reference}.${winding.name}`);
            const inside = windingShort(
              circuit,
              part,
              `winding ${winding.name}`,
              winding.nets,
              winding.place,
              running,
              winding.segmentVolts,
            );
            if (inside) {
              told.add(running(inside.net));
              yield inside.found;
            }
            if (winding !== part.primary) {
              const found = rectifierShort(circuit, part, winding, running);
              if (found) yield found;
            }
          }
          break;
        case "output-transformer":
          for (const [name, winding] of [
            ["plates", part.plates] as const,
            ["speaker", part.speaker] as const,
          ]) {
            if (!winding) continue;
            context.checked(`${part.reference}.${name}`);
            const inside = windingShort(circuit, part, name, winding.nets, winding.place, running);
            if (inside) yield inside.found;
          }
          break;
        case "cord":
        case "inlet": {
          const [active, neutral] = [part.leads.get("active"), part.leads.get("neutral")];
          if (!active || !neutral) break;
          context.checked(part.reference);
          if (running(active.net) === running(neutral.net)) {
            yield shorted(
              circuit,
              part,
              part.place,
              "active and neutral",
              [active.net, neutral.net],
              "error",
            );
          }
          break;
        }
        case "valve": {
          const heater = part.heater;
          if (!heater) break;
          context.checked(part.reference);
          if (wired(heater.nets[0]) === wired(heater.nets[1])) {
            loads.push({
              node: running(heater.nets[0]),
              found: shorted(circuit, part, heater.place, "both ends of its heater", heater.nets, "error"),
            });
          }
          break;
        }
        case "resistor":
        case "capacitor":
        case "choke":
        case "diode":
        case "zener":
        case "lamp":
        case "speaker":
        case "thermistor":
        case "fuse": {
          const pair = ends(part);
          if (!pair) break;
          context.checked(part.reference);
          // A lift that stays in its place beside the bond that has replaced it does no harm.
          const lift =
            pair.every((net) => net === circuit.ground || net === circuit.chassis) && pair[0] !== pair[1];
          if (wired(pair[0]) === wired(pair[1]) && !lift)
            loads.push({
              node: running(pair[0]),
              found: isReservoir(part)
                ? supplyShort(circuit, part, pair)
                : shorted(circuit, part, part.place, "both its ends", pair, "warning"),
            });
          break;
        }
      }
    }
    for (const found of suppliesOnWindings(circuit, running, (from, to) => joiners(circuit, from, to)))
      yield finding(short, found);
    // What hangs on a shorted winding is told with it.
    for (const { node, found } of loads) if (!told.has(node)) yield found;
  },
};

/** One rectifier as current passes it, by the nodes that `root` gives. */
interface Passage {
  readonly part: Part;
  readonly to: NetIndex;
}

const passages = new KeptWith<Circuit, ReadonlyMap<NetIndex, readonly Passage[]>>();

/** Where diodes and bridges let current through, from anode to cathode. */
function passagesOf(
  circuit: Circuit,
  root: (net: NetIndex) => NetIndex,
): ReadonlyMap<NetIndex, readonly Passage[]> {
  const known = passages.get(circuit);
  if (known) return known;
  const found = new Map<NetIndex, Passage[]>();
  const lay = (part: Part, anode: string, cathode: string) => {
    const [from, to] = [part.terminals.get(anode), part.terminals.get(cathode)];
    if (from === undefined || to === undefined || root(from) === root(to)) return;
    const list = found.get(root(from));
    if (list) list.push({ part, to: root(to) });
    else found.set(root(from), [{ part, to: root(to) }]);
  };
  for (const part of circuit.parts) {
    if (part.kind === "diode") lay(part, "anode", "cathode");
    if (part.kind !== "bridge") continue;
    for (const ac of ["ac1", "ac2"]) {
      lay(part, ac, "plus");
      lay(part, "minus", ac);
    }
  }
  passages.set(circuit, found);
  return found;
}

/** A way from one point of a winding to another through rectifiers alone: every second half-cycle is a short. */
function rectifierShort(
  circuit: Circuit,
  transformer: Transformer,
  winding: Winding,
  root: (net: NetIndex) => NetIndex,
): Finding | undefined {
  const ways = passagesOf(circuit, root);
  if (ways.size === 0) return undefined;
  const points = new Set(winding.nets.map(root));
  for (const start of winding.nets) {
    const came = new Map<NetIndex, readonly Part[]>([[root(start), []]]);
    for (const [at, before] of came) {
      for (const { part, to } of ways.get(at) ?? []) {
        if (came.has(to)) continue;
        const way = [...before, part];
        const end = winding.nets.find((net) => root(net) === to);
        if (points.has(to) && end !== undefined)
          return shortedBy(circuit, transformer, winding, [...new Set(way)], [start, end]);
        came.set(to, way);
      }
    }
  }
  return undefined;
}

function shortedBy(
  circuit: Circuit,
  transformer: Transformer,
  winding: Winding,
  way: readonly Part[],
  [start, end]: readonly [NetIndex, NetIndex],
): Finding {
  const names = listed(way.map((part) => part.reference));
  const many = way.length > 1;
  return finding(short, {
    message:
      `${names} ${many ? "lead" : "leads"} straight from ${netName(circuit, start)} to ${netName(circuit, end)} of ${transformer.reference}'s winding ` +
      `${winding.name}, with no load between: every second half-cycle is a short. ${
        way.some((part) => part.kind === "bridge")
          ? "Its direct side is on the winding, or a tap of the winding is on its direct side."
          : many
            ? "One of them is the wrong way round."
            : "It belongs in series with the load."
      }`,
    on: [
      ...way.map((part) => part.reference),
      `${transformer.reference}.${winding.name}`,
      transformer.reference,
    ],
    place: way[0].place,
    related: [
      ...way.slice(1).map((part) => relatedPart(part, "in the same way")),
      {
        on: `${transformer.reference}.${winding.name}`,
        message: "the winding that is shorted",
        place: winding.place,
      },
    ],
  });
}

/** The first two points of a winding that are one. */
function windingShort(
  circuit: Circuit,
  part: Part,
  name: string,
  nets: readonly NetIndex[],
  place: Place,
  root: (net: NetIndex) => NetIndex,
  segmentVolts?: readonly number[],
): { readonly found: Finding; readonly net: NetIndex } | undefined {
  for (let i = 0; i < nets.length; i++) {
    for (let j = i + 1; j < nets.length; j++) {
      if (root(nets[i]) !== root(nets[j])) continue;
      const volts = segmentVolts?.slice(i, j).reduce((sum, step) => sum + Math.abs(step), 0);
      if (volts === 0) continue;
      const what = `${nets.length > 2 ? "two points" : "both ends"} of its ${name}`;
      return { found: shorted(circuit, part, place, what, [nets[i], nets[j]], "error"), net: nets[i] };
    }
  }
  return undefined;
}

function shorted(
  circuit: Circuit,
  part: Part,
  place: Place,
  what: string,
  [a, b]: readonly [NetIndex, NetIndex] | readonly NetIndex[],
  severity: "error" | "warning",
): Finding {
  const names = [...new Set([netName(circuit, a), netName(circuit, b)])];
  const through = a === b ? [] : joiners(circuit, a, b);
  const by =
    through.length > 0 ? `, joined by ${listed(through.map((entry) => called(circuit, entry)))}` : "";
  const todo =
    severity === "error"
      ? "Part them: nothing behind it can work, and it burns."
      : "It does nothing there: look for a net with the wrong name.";
  return finding(short, {
    severity,
    message: `${part.reference} has ${what} on ${listed(names)}${by}. ${todo}`,
    on: [part.reference, ...names, ...through.map((entry) => entry.reference)],
    place,
    related: through.map((entry) => relatedPart(entry, "joins the two")),
  });
}

/** A capacitor that holds up high tension. */
function isReservoir(part: Part): boolean {
  return (
    part.kind === "capacitor" &&
    part.polarised &&
    part.farads.value >= reservoirFarads &&
    (part.volts?.value ?? 0) > discharge.volts * 2
  );
}

/** What charges a reservoir feeds straight into the joint: a dropper burns, or a rectifier, until a fuse blows. */
function supplyShort(circuit: Circuit, part: Part, [a, b]: readonly NetIndex[]): Finding {
  const common = [circuit.ground, circuit.chassis];
  const high = common.includes(a) ? b : a;
  const names = [...new Set([netName(circuit, a), netName(circuit, b)])];
  const through = a === b ? [] : joiners(circuit, a, b);
  const supply = through.length > 0 && (common.includes(a) || common.includes(b));
  return finding(short, {
    message: supply
      ? `${netName(circuit, high)} is shorted to circuit common, across ${part.reference}, by ${listed(through.map((entry) => called(circuit, entry)))}: ` +
        "whatever feeds it burns until a fuse blows. Take the joint out."
      : `${part.reference} has both its ends on ${listed(names)}. It holds nothing up there: look for a net with the wrong name.`,
    severity: supply ? "error" : "warning",
    on: [part.reference, ...names, ...through.map((entry) => entry.reference)],
    place: supply ? through[0].place : part.place,
    related: [
      ...(supply ? [relatedPart(part, "the capacitor that is shorted")] : []),
      ...through.slice(1).map((entry) => relatedPart(entry, "joins the two")),
    ],
  });
}

/** Parts on the shortest way of wires, bonds, fuses and switches between two nets. */
function joiners(circuit: Circuit, from: NetIndex, to: NetIndex): Part[] {
  const parts = partsOf(circuit, "wire", "bond", "fuse", "switch");
  const found = new Map<NetIndex, { from: NetIndex; part: Part } | undefined>([[from, undefined]]);
  for (const net of found.keys()) {
    if (net === to) break;
    for (const part of parts) {
      for (const [a, b] of pairs(part)) {
        const next = a === net ? b : b === net ? a : undefined;
        if (next !== undefined && !found.has(next)) found.set(next, { from: net, part });
      }
    }
  }
  const way: Part[] = [];
  for (let step = found.get(to); step; step = found.get(step.from)) way.unshift(step.part);
  return way;
}

function pairs(part: Part): (readonly [NetIndex, NetIndex])[] {
  if (part.kind === "switch") {
    return part.poles.flatMap((pole) =>
      [...pole.throws.values()].flatMap((to) =>
        pole.common === undefined ? [] : [[pole.common, to] as const],
      ),
    );
  }
  const pair = ends(part);
  return pair ? [pair] : [];
}

/** Which nets are one: a representative per net, by union of what the parts join. */
function joinedBy(
  circuit: Circuit,
  joins: (part: Part) => boolean,
  position?: (part: Switch) => string | undefined,
): (net: NetIndex) => NetIndex {
  const parent = circuit.nets.map((net) => net.index);
  const root = (net: NetIndex): NetIndex => {
    let at = net;
    while (parent[at] !== at) at = parent[at] = parent[parent[at]];
    return at;
  };
  const join = (a: NetIndex, b: NetIndex) => {
    parent[root(a)] = root(b);
  };
  for (const part of circuit.parts) {
    if (part.kind === "switch" && position) {
      const at = position(part);
      for (const pole of part.poles) {
        const to = at === undefined ? undefined : pole.throws.get(at);
        if (pole.common !== undefined && to !== undefined) join(pole.common, to);
      }
      continue;
    }
    if (!joins(part)) continue;
    const pair = ends(part);
    if (pair) join(...pair);
  }
  return root;
}
