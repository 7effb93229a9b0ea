import type { Circuit, NetIndex, Part } from "../../circuit/model.ts";
import { topOf } from "../frame/found.ts";
import { finding, listed, netName, partsOf, partsOn, relatedPart } from "../frame/index.ts";
import { mainsSide } from "../mains/graph.ts";
import type { Rule } from "../rule.ts";
import { feedsOf, openTap } from "../supply/high-tension.ts";
import { passIn } from "./own-of-block.ts";
import { usesOf } from "./uses.ts";

export const noDcPath: Rule = {
  id: "circuit/no-dc-path",
  severity: "warning",
  sentence: "Nothing fixes the dc voltage of a net: only capacitors, or nothing at all, join it to the rest.",
  why:
    "Such a net drifts to wherever leakage takes it: a coupling capacitor then sees a voltage that nobody chose, and no " +
    "voltage can be computed for it.",
  source: "common practice",
  quiet:
    "Quiet on grids (valve/grid-open tells those), on heaters (valve/heater-floating), on windings and loudspeakers that " +
    "float by nature, on the mains side, on what a switch leaves alone in one position, and on nets that are named once " +
    "(circuit/single-use-net tells those). Advice in a tone network behind a coupling capacitor.",
  bad: `amp "Between two capacitors"
source B1 300V { plus: HT1, minus: gnd }
HT1 -- resistor R1 100k 1W 500V -- p1
p1 -- capacitor C1 22n 630V film -- mid -- capacitor C2 22n 630V film -- gnd
p1 -- resistor R2 100k 1W 500V -- gnd
`,
  good: `amp "With a resistor"
source B1 300V { plus: HT1, minus: gnd }
HT1 -- resistor R1 100k 1W 500V -- p1
p1 -- capacitor C1 22n 630V film -- mid -- resistor R3 1M 0.5W 350V -- gnd
p1 -- resistor R2 100k 1W 500V -- gnd
`,
  *check(context) {
    const { circuit, analysis } = context;
    if (circuit.parts.length === 0)
      context.unchecked("circuit", "anything at all (no part is written)", topOf(circuit));
    else if (circuit.ground === undefined && circuit.chassis === undefined)
      context.unchecked(
        "circuit",
        "volts against common (no net is called gnd or chassis: it all floats)",
        topOf(circuit),
      );
    const floating = new Set<NetIndex>();
    for (const state of analysis.states) {
      if (state !== "idle") continue;
      for (const net of analysis.solution(state, "nominal")?.floating ?? []) floating.add(net);
    }
    const told = new Set<string>();
    for (const group of islands(circuit, floating)) {
      yield;
      if (!matters(circuit, group) || switchedOff(circuit, group, floating)) continue;
      const parts = partsAround(circuit, group);
      const pass = passIn(circuit, group);
      const place = circuit.nets[pass?.net ?? group[0]].mentions[0] ?? parts[0].place;
      // What a block was not given is missing in each of its copies.
      const at = `${place.file}:${place.range.start}`;
      if (pass && told.has(at)) continue;
      told.add(at);
      const names = group.map((net) => netName(circuit, net));
      const capacitors = parts.filter((part) => part.kind === "capacitor");
      const how =
        capacitors.length > 0
          ? `only ${listed(capacitors.map((part) => part.reference))} ${capacitors.length > 1 ? "join" : "joins"} ` +
            `${names.length > 1 ? "them" : "it"} to the rest`
          : `nothing joins ${names.length > 1 ? "them" : "it"} to circuit common`;
      yield finding(noDcPath, {
        severity: isSignal(parts) ? "advice" : "warning",
        message:
          `${listed(names)} ${names.length > 1 ? "have" : "has"} no dc path: ${how}, so no voltage can be computed for ` +
          `${names.length > 1 ? "them" : "it"}. ${pass?.todo ?? todoFor(circuit, group)}`,
        on: [...names, ...parts.map((part) => part.reference)],
        place,
        related: parts.slice(0, 6).map((part) => relatedPart(part, "sits on it")),
      });
    }
  },
};

/** A supply floats where its winding's centre tap does. */
function todoFor(circuit: Circuit, group: readonly NetIndex[]): string {
  const tap = feedsOf(circuit).some(({ to }) => group.includes(to)) ? openTap(circuit) : undefined;
  return tap
    ? `The centre tap of ${tap.key} (${tap.net}) is joined to nothing: it belongs on circuit common.`
    : "Give a resistor to circuit common, or join what is missing.";
}

/**
 * True for the nodes of a tone network that the signal alone passes: three film and mica capacitors or more, with resistors
 * or pots between. What it stands at is leakage's affair, and does no harm to parts that hold the HT.
 */
function isSignal(parts: readonly Part[]): boolean {
  const capacitors = parts.filter((part) => part.kind === "capacitor");
  return (
    capacitors.length > 2 &&
    parts.some((part) => part.kind === "resistor" || part.kind === "pot") &&
    capacitors.every((part) => part.kind === "capacitor" && !part.polarised) &&
    parts.every((part) =>
      ["capacitor", "resistor", "pot", "jack", "switch", "wire", "terminal-strip"].includes(part.kind),
    )
  );
}

/** True for what a switch leaves alone in this position and joins to the rest in another: the capacitors of a tone switch. */
function switchedOff(circuit: Circuit, group: readonly NetIndex[], floating: ReadonlySet<NetIndex>): boolean {
  return partsOf(circuit, "switch").some((part) =>
    part.poles.some((pole) => {
      const throws = [...pole.throws.values()];
      const own = throws.some((net) => group.includes(net)) && pole.common !== undefined;
      return (
        (own && !floating.has(pole.common)) ||
        (pole.common !== undefined && group.includes(pole.common) && throws.some((net) => !floating.has(net)))
      );
    }),
  );
}

/** Floating nets in groups that parts other than capacitors join. */
function islands(circuit: Circuit, floating: ReadonlySet<NetIndex>): NetIndex[][] {
  const groups: NetIndex[][] = [];
  const seen = new Set<NetIndex>();
  for (const start of floating) {
    if (seen.has(start)) continue;
    seen.add(start);
    const group = [start];
    for (const net of group) {
      for (const part of partsOn(circuit, net)) {
        if (part.kind === "capacitor") continue;
        for (const to of joined(part, net)) {
          if (!floating.has(to) || seen.has(to)) continue;
          seen.add(to);
          group.push(to);
        }
      }
    }
    groups.push(group.sort((a, b) => a - b));
  }
  return groups;
}

/** Nets that a part joins to this one; a transformer's windings are apart, a grid is joined to nothing. */
function joined(part: Part, net: NetIndex): readonly NetIndex[] {
  switch (part.kind) {
    case "transformer":
      return [part.primary, ...part.secondaries].flatMap((row) => (row?.nets.includes(net) ? row.nets : []));
    case "output-transformer":
      return [part.plates, part.speaker].flatMap((row) => (row?.nets.includes(net) ? row.nets : []));
    case "valve":
      return [
        ...part.sections.flatMap((section) => {
          const current = [...section.electrodes].filter(([name]) => name !== "grid").map(([, to]) => to);
          return current.includes(net) ? current : [];
        }),
        ...(part.heater?.nets.includes(net) ? part.heater.nets : []),
      ];
    case "cord":
    case "inlet":
    case "terminal-strip":
    case "jack":
      return [];
    case "switch":
      return part.poles.flatMap((pole) => {
        const nets = [pole.common, ...pole.throws.values()].filter((to): to is NetIndex => to !== undefined);
        return nets.includes(net) ? nets : [];
      });
    default:
      return [...part.terminals.values()];
  }
}

function partsAround(circuit: Circuit, group: readonly NetIndex[]): Part[] {
  const parts = new Set(group.flatMap((net) => partsOn(circuit, net)));
  return circuit.parts.filter((part) => parts.has(part));
}

/** True where a net without a fixed voltage does harm, and no other rule tells it. */
function matters(circuit: Circuit, group: readonly NetIndex[]): boolean {
  const side = mainsSide(circuit);
  const uses = usesOf(circuit);
  if (group.some((net) => net === circuit.ground || net === circuit.chassis)) return false;
  if (group.some((net) => side?.nets.has(net) || side?.earthy.has(net))) return false;
  if (group.some((net) => circuit.metals.some((metal) => metal.net === net))) return false;
  // A primary that no cord comes to is the mains side of a bench file.
  const primaries = partsOf(circuit, "transformer").flatMap((part) => part.primary?.nets ?? []);
  if (group.some((net) => primaries.includes(net))) return false;
  if (group.every((net) => (uses.get(net)?.length ?? 0) <= 1)) return false;
  const on = group.flatMap((net) => uses.get(net) ?? []);
  if (on.some((use) => use.terminal === "heater" || use.terminal === "grid")) return false;
  // Two electrolytics in series without resistors: rating/series-capacitors tells that.
  if (group.length === 1 && on.length === 2 && on.every((use) => isElectrolytic(use.part))) return false;
  // Windings, loudspeakers, lamps, jacks and switches by themselves have nothing that a drifting voltage could harm.
  const harmless = [
    "transformer",
    "output-transformer",
    "speaker",
    "lamp",
    "jack",
    "switch",
    "terminal-strip",
    "wire",
  ];
  return on.some((use) => !harmless.includes(use.part.kind));
}

const isElectrolytic = (part: Part): boolean => part.kind === "capacitor" && part.polarised;
