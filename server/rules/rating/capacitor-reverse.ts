import type { Capacitor, Part } from "../../circuit/model.ts";
import { reverse } from "../../facts/passives.ts";
import type { Solution } from "../../physics/results.ts";
import {
  limit,
  listed,
  partsOf,
  type Row,
  readingsAt,
  relatedNet,
  rowOf,
  type Where,
  worstOf,
} from "../frame/index.ts";
import type { Finding, Rule, RuleContext } from "../rule.ts";
import { onMains } from "../shared/mains-side.ts";
import { networkOf } from "../shared/network.ts";
import { verdictOn } from "./turned-supply.ts";

/** A capacitor with this much the right way is not reversed by any tolerance, */
const CLEAR_VOLTS = 5;
/** nor is one that has such a share of its nets' own volts across it. */
const CLEAR_SHARE = 0.5;

export const capacitorReverse: Rule = {
  id: "rating/capacitor-reverse",
  severity: "error",
  sentence: "The electrolytic is the wrong way round.",
  why:
    "A polarised electrolytic in reverse dissolves its own dielectric: it gasses, vents, and may burst in the face of whoever " +
    "leans over it.",
  source: `${reverse.source}: ${reverse.volts} V, ${reverse.briefVolts} V briefly`,
  quiet:
    "Quiet within a volt of zero (1.5 V in cold start), as on a capacitor between two points of equal volts, and on capacitors " +
    "that are not polarised.",
  caution: "Stand clear of a reversed electrolytic: discharge it and let it cool before you touch it.",
  bad: `amp "Bias reservoir the wrong way round"
source B1 50V { plus: gnd, minus: nB }
nB -- capacitor C1 47u 100V electrolytic -- gnd
nB -- resistor R1 47k 0.5W -- gnd
`,
  good: `amp "Bias reservoir, plus to common"
source B1 50V { plus: gnd, minus: nB }
gnd -- capacitor C1 47u 100V electrolytic -- nB
nB -- resistor R1 47k 0.5W -- gnd
`,
  leads: [
    { rule: "rating/capacitor-voltage", sharing: "part", manner: "attach" },
    { rule: "supply/no-high-tension", sharing: "part", manner: "mark" },
  ],
  *check(context) {
    const { circuit } = context;
    const all = new Map<Capacitor, Finding>();
    for (const part of partsOf(circuit, "capacitor")) {
      yield;
      if (!part.polarised || onMains(circuit, part)) continue;
      const found = held(context, part, WARM) ?? held(context, part, COLD);
      if (found) all.set(part, found);
    }
    for (const group of chained(context, [...all.keys()])) {
      yield;
      const [first, ...others] = group.parts.flatMap((part) => all.get(part) ?? []);
      yield { ...first, ...together(first, others, group) };
    }
  },
};

interface Chain {
  readonly parts: readonly Capacitor[];
  /** The diode that feeds the chain, where it has no electrolytic that stands the right way round. */
  readonly diode?: Part;
  /** True where all else on the supply says that it is the diode that is turned. */
  readonly diodeFirst?: boolean;
}

/** Capacitors that resistance alone joins stand on one supply: turned round together, they have one cause. */
function chained({ circuit, analysis }: RuleContext, parts: readonly Capacitor[]): readonly Chain[] {
  const network = networkOf(circuit);
  const common = circuit.ground === undefined ? -1 : network.nodeOf(circuit.ground);
  const reached = (part: Part): ReadonlySet<number> =>
    new Set(
      [...part.terminals.values()]
        .filter((net) => network.nodeOf(net) !== common)
        .flatMap((net) => [...network.reachedFrom(net)])
        .filter((node) => node !== common),
    );
  const on = (part: Part, nodes: ReadonlySet<number>) =>
    [...part.terminals.values()].some((net) => nodes.has(network.nodeOf(net)));
  const groups: { nodes: ReadonlySet<number>; parts: Capacitor[] }[] = [];
  for (const part of parts) {
    const group = groups.find(({ nodes }) => on(part, nodes));
    if (group) group.parts.push(part);
    else groups.push({ nodes: reached(part), parts: [part] });
  }
  return groups.map((group) => {
    const verdict = verdictOn(circuit, analysis.solution("idle", "nominal"), group.parts, group.nodes);
    if (verdict.diode) return { parts: group.parts, diode: verdict.diode, diodeFirst: true };
    if (verdict.supply === "right") return { parts: group.parts };
    const upright = partsOf(circuit, "capacitor").some(
      (part) => part.polarised && !group.parts.includes(part) && on(part, group.nodes),
    );
    const diode = upright
      ? undefined
      : partsOf(circuit, "diode", "bridge").find((part) => on(part, group.nodes));
    return { parts: group.parts, diode };
  });
}

function together(
  first: Finding,
  others: readonly Finding[],
  { diode, diodeFirst }: Chain,
): Partial<Finding> {
  const them = others.length > 0 ? "Turn them round" : TURN;
  const todo = diodeFirst
    ? `Turn ${diode?.reference} round first, that feeds ${others.length > 0 ? "them" : "it"}: what else hangs on this supply has not its volts either, so it is likely ${diode?.reference} that stands the wrong way; only if that is right, ${others.length > 0 ? "the capacitors" : "the capacitor"}`
    : diode
      ? `${them}, or ${diode.reference} that feeds ${others.length > 0 ? "them" : "it"}`
      : them;
  const same = others.length > 0 ? ` ${listed(others.map(({ on }) => on[0]))} the same.` : "";
  return {
    message: `${first.message.replace(`${TURN}.`, `${todo}.`)}${same}`,
    on: [...first.on, ...others.flatMap(({ on }) => on)],
    related: [
      ...first.related,
      ...others.map(({ on, place }) => ({ on: on[0], message: "the same here", place })),
      ...(diode ? [{ on: diode.reference, message: "makes these volts", place: diode.place }] : []),
    ],
  };
}

const TURN = "Turn it round";

const WARM: Where = { states: ["standby", "idle", "drive", "pulled"], seek: "least" };
const COLD: Where = { states: ["cold"], seek: "least" };

function held(context: RuleContext, part: Capacitor, where: Where): Finding | undefined {
  const row = rowOf(context.analysis, part.reference);
  const lowest = worstOf(
    context.analysis,
    where,
    (solution) => lowestVolts(solution, part, row),
    (solution) => (clear(solution, part, row) ? undefined : solution.band(part.reference, "volts")),
  );
  if (!lowest) return undefined;
  const brief = lowest.state === "cold";
  return limit(context, capacitorReverse, {
    on: part.reference,
    place: part.place,
    value: Math.max(0, -lowest.value),
    limit: brief ? reverse.briefVolts : reverse.volts,
    unit: "V",
    state: lowest.state,
    mains: lowest.mains,
    words: () => ({
      says: `${part.reference} is reversed: its minus stands above its plus by`,
      limitIs: brief ? "briefly allowed" : "allowed",
      todo: `${TURN}.`,
      related: [...part.terminals].map(([terminal, net]) =>
        relatedNet(context.circuit, net, `its ${terminal}`),
      ),
    }),
  });
}

/** Tolerances turn round only a small difference between large volts. */
function clear(solution: Solution, part: Capacitor, row: Row): boolean {
  const lowest = lowestVolts(solution, part, row) ?? 0;
  if (lowest > CLEAR_VOLTS) return true;
  let most = Number.NEGATIVE_INFINITY;
  for (const net of part.terminals.values()) most = Math.max(most, Math.abs(solution.volts[net]));
  // Without volts there is nothing to turn round.
  return most < reverse.volts || lowest > CLEAR_SHARE * most;
}

function lowestVolts(solution: Solution, part: Capacitor, row: Row): number | undefined {
  const reading = readingsAt(row, solution);
  let dc = reading?.volts;
  if (dc === undefined) {
    const [plus, minus] = [part.terminals.get("plus"), part.terminals.get("minus")];
    if (plus !== undefined && minus !== undefined) dc = solution.volts[plus] - solution.volts[minus];
  }
  if (dc === undefined || Number.isNaN(dc)) return undefined;
  return dc - (reading?.ripple ?? 0) / 2;
}
