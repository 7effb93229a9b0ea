import { KeptWith } from "../../circuit/kept-with.ts";
import type { Circuit, NetIndex, Part } from "../../circuit/model.ts";
import { cathodeOnHeater, heaterString } from "../../facts/heaters.ts";
import { smallestPart } from "../../facts/practice.ts";
import type { Solution, StateName } from "../../physics/results.ts";
import { outputValves } from "../../physics/states.ts";
import {
  finding,
  kept,
  limit,
  listed,
  netName,
  netsOf,
  partsOf,
  partsOn,
  quantity,
  relatedNet,
  relatedPart,
  solutions,
  type Where,
} from "../frame/index.ts";
import type { Finding, Rule, RuleContext } from "../rule.ts";
import { alike } from "../shared/alike.ts";
import { heldWhileCold } from "../shared/cathode-way.ts";
import { sameNode, topologyOf } from "../shared/nodes.ts";
import {
  blocksOf,
  electrodePlace,
  noLimit,
  type Rated,
  rated,
  type Section,
  sectionsOf,
  sectionsOfValve,
  sourceOf,
  whereOf,
} from "../shared/sections.ts";
import { cathodeResistors } from "./bias.ts";
import { lowering } from "./heater-lift.ts";

export const heaterCathode: Rule = {
  id: "valve/heater-cathode",
  severity: "error",
  sentence: "The cathode stands further from its heater than the insulation between them allows.",
  why:
    "A few hundredths of a millimetre of alumina at red heat keep the two apart. Past its volts it leaks hum, then breaks down, " +
    "and puts the cathode's volts on the heater chain of every valve.",
  source: "the valve's sheet; IEC 60134 for what it is held against",
  quiet:
    "Quiet on directly heated valves and types whose cathode is joined to the heater inside, as long as their heater's winding is their own; on a rectifier whose cathode is tied to its own heater, and below 40 V, which every sheet " +
    "allows. The heater's real dc level is taken: its centre tap, hum-balance resistors or elevation.",
  bad: `amp "A cathode follower with too little insulation"
source B1 300V { plus: HT, minus: gnd }
source B2 6.3V { plus: h1, minus: gnd }
HT -- resistor R1 100k 1W 500V -- p1
valve V1 12AT7 {
  a { plate: p1, grid: g1, cathode: k1 }
  b { plate: HT, grid: p1, cathode: k2 }
  heater: h1 gnd
}
g1 -- resistor R2 1M 0.5W -- gnd
k1 -- resistor R3 1k5 0.5W -- gnd
k2 -- resistor R4 100k 1W 500V -- gnd
p1 -- diode D1 1N4007 -- k2
`,
  good: `amp "The heater raised to meet it"
source B1 300V { plus: HT, minus: gnd }
source B2 6.3V { plus: h1, minus: lift }
HT -- resistor R5 330k 1W 500V -- lift -- resistor R6 100k 1W 500V -- gnd
HT -- resistor R1 100k 1W 500V -- p1
valve V1 12AT7 {
  a { plate: p1, grid: g1, cathode: k1 }
  b { plate: HT, grid: p1, cathode: k2 }
  heater: h1 lift
}
g1 -- resistor R2 1M 0.5W -- gnd
k1 -- resistor R3 1k5 0.5W -- gnd
k2 -- resistor R4 100k 1W 500V -- gnd
p1 -- diode D1 1N4007 -- k2
`,
  *check(context) {
    const worstOf = new Map<string, Finding>();
    for (const section of sectionsOf(context.circuit)) {
      yield;
      const { valve, facts, cathode } = section;
      if (!facts || facts.heating === "direct" || cathode === undefined || !valve.heater) continue;
      if (valve.heater.nets.some((net) => sameNode(context.circuit, net, cathode))) continue;
      const negative = rated(section, "heaterNegativeVolts");
      const positive = rated(section, "heaterPositiveVolts");
      const positiveDc = rated(section, "heaterPositiveDcVolts");
      const worstOfBoth = [
        sided(context, section, negative, "negative"),
        // A rectifier's heater is never far above its cathode: its sheet prints the other side alone.
        section.rectifier && !positive ? undefined : sided(context, section, positive, "positive"),
        positiveDc && sided(context, section, positiveDc, "positive dc"),
      ].filter((entry): entry is Finding => entry !== undefined);
      // One valve, one finding: the side, and the section, that is furthest over.
      for (const found of worstOfBoth) {
        const known = worstOf.get(valve.reference);
        if (!known || over(found) > over(known)) worstOf.set(valve.reference, found);
      }
    }
    yield* alike(lifted(context, [...worstOf.values()]));
    yield* tied(context);
  },
};

/** Heaters that stand too high stand so together: the valve furthest over is told, the others on its heaters named with it. */
function lifted({ circuit }: RuleContext, found: readonly Finding[]): readonly Finding[] {
  const { node } = topologyOf(circuit);
  const groups = new Map<string, Finding[]>();
  for (const entry of found) {
    const valve = circuit.partByReference.get(entry.on[0]);
    const nets = valve?.kind === "valve" ? valve.heater?.nets : undefined;
    const high = entry.message.includes("heater stands above");
    const key =
      high && nets
        ? [entry.severity, ...nets.map((net) => node[net]).sort((a, b) => a - b)].join()
        : `${entry.on[0]}:own`;
    const group = groups.get(key);
    if (group) group.push(entry);
    else groups.set(key, [entry]);
  }
  return [...groups.values()].map((group) => {
    const [worst, ...others] = [...group].sort((a, b) => over(b) - over(a));
    if (others.length === 0) return worst;
    return {
      ...worst,
      message: `${worst.message} ${listed(others.map(({ on }) => on[0]))}, on the same heaters, ${others.length > 1 ? "are" : "is"} past ${others.length > 1 ? "theirs" : "its own"} too.`,
      on: [...worst.on, ...others.flatMap(({ on }) => on)],
      related: [
        ...worst.related,
        ...others.map(({ on, message, place }) => ({
          on: on[0],
          message: message.replace(/;.*$/, ""),
          place,
        })),
      ],
    };
  });
}

/** Rectifiers whose cathode is joined to the heater inside the bulb: their winding has the HT on it, and serves nothing else. */
function* tied(context: RuleContext): Generator<Finding> {
  const { circuit, analysis } = context;
  for (const valve of partsOf(circuit, "valve")) {
    const [section] = sectionsOfValve(circuit, valve);
    if (!section?.rectifier || !section.facts || !valve.heater) continue;
    const inside = section.facts.heating === "direct" || cathodeOnHeater.types.includes(section.facts.type);
    const cathode = section.cathode;
    if (!inside || cathode === undefined || valve.heater.nets.some((net) => sameNode(circuit, net, cathode)))
      continue;
    for (const solution of solutions(analysis, { states: ["idle"], levels: ["nominal"] })) {
      const middle = (solution.volts[valve.heater.nets[0]] + solution.volts[valve.heater.nets[1]]) / 2;
      const level = Math.abs(middle) < 0.05 ? 0 : middle;
      const apart = Math.abs(solution.volts[cathode] - level);
      // A winding of its own floats with the cathode, whatever the file says of it.
      if (solution.floating.includes(valve.heater.nets[0]) || !(apart > smallestPart.heaterCathodeVolts))
        continue;
      context.checked(valve.reference);
      yield finding(heaterCathode, {
        message:
          `${valve.reference}'s cathode is joined to its heater inside the bulb: ${quantity(solution.volts[cathode], "V")} there, and ` +
          `the heater's winding is held at ${quantity(level, "V")}: the HT is shorted through it. A winding of its own for ${valve.reference}, or a type with its cathode apart.`,
        on: [valve.reference, `${valve.reference}.heater`],
        place: valve.heater.place,
        value: apart,
        unit: "V",
        state: "idle",
        mains: "nominal",
        source: cathodeOnHeater.source,
        related: [relatedNet(circuit, cathode, "its cathode")],
      });
    }
  }
}

const over = (found: Finding): number => (found.value ?? 0) / (found.limit ?? 1);

type Side = "negative" | "positive" | "positive dc";

function sided(
  context: RuleContext,
  section: Section,
  bound: Rated | undefined,
  side: Side,
): Finding | undefined {
  const block = bound?.block ?? blocksOf(section)[0];
  const where = whereOf(block);
  const place = electrodePlace(section, "cathode");
  if (bound && where.tolerance !== "nominal" && keptByFar(context, section, bound, where, side))
    return undefined;
  const running = worstApart(context, section, within(where, RUNNING), side);
  if (!running) return undefined;
  if (Number.isNaN(running.value)) {
    context.unchecked(
      section.valve.reference,
      "heater to cathode (what the heater stands at is not known)",
      place,
    );
    return undefined;
  }
  if (!bound) {
    if (running.value > smallestPart.heaterCathodeVolts)
      context.unchecked(
        section.valve.reference,
        `heater to cathode, heater ${side} (${noLimit(section)})`,
        place,
      );
    return undefined;
  }
  const found = told(context, section, bound, side, running);
  if (found) return found;
  // With the output valves out the HT rises: a service condition, not one that the amplifier lives in.
  const pulled = worstApart(context, section, within(where, PULLED), side);
  return pulled && pulled.value > running.value + LEAST_VOLTS
    ? told(context, section, bound, side, pulled, "warning")
    : undefined;
}

const RUNNING: readonly StateName[] = ["cold", "standby", "idle", "drive"];
const PULLED: readonly StateName[] = ["pulled"];
/** Less is the rounding of a sum, not one state above another. */
const LEAST_VOLTS = 1e-3;
/** With nominal parts below this share of the limit, no tolerance brings the volts to it. */
const FAR = 0.5;

/**
 * Counts a limit that is kept by far without its bands: one costs a solve of its own, and a preamplifier's cathodes stand at a
 * hundredth of what is allowed. @returns false where it has to be looked at closely
 */
function keptByFar(context: RuleContext, section: Section, bound: Rated, where: Where, side: Side): boolean {
  const apart = (states: readonly StateName[], tolerance: Where["tolerance"]) =>
    worstApart(context, section, within(where, states, tolerance), side);
  const running = apart(RUNNING, "nominal");
  const pulled = apart(PULLED, "nominal");
  if (!running || !(running.value < FAR * bound.value) || (pulled && !(pulled.value < FAR * bound.value)))
    return false;
  const count = (states: readonly StateName[], known: Apart) =>
    kept(context, heaterCathode, {
      on: section.valve.reference,
      limit: bound.value,
      unit: "V",
      source: sourceOf(section.facts, bound.block),
      worst: () => {
        const { value, solution } = apart(states, where.tolerance) ?? known;
        return { value, state: solution.state, mains: solution.level };
      },
    });
  count(RUNNING, running);
  if (pulled && pulled.value > running.value + LEAST_VOLTS) count(PULLED, pulled);
  return true;
}

function told(
  context: RuleContext,
  section: Section,
  bound: Rated,
  side: Side,
  most: Apart,
  severity?: "warning",
): Finding | undefined {
  const { circuit } = context;
  const { solution } = most;
  const { valve, cathode } = section;
  return limit(context, heaterCathode, {
    on: [valve.reference, `${section.key}.cathode`],
    place: electrodePlace(section, "cathode"),
    value: most.value,
    limit: bound.value,
    unit: "V",
    severity,
    state: solution.state,
    mains: solution.level,
    source: sourceOf(section.facts, bound.block),
    words: () => {
      const cathodeVolts = solution.volts[cathode ?? 0];
      const [h] = valve.heater?.nets ?? [];
      const inString = most.swing > heaterString.crestVolts;
      const lift = Math.max(10, Math.round(cathodeVolts / 20) * 10);
      return {
        says:
          side === "negative"
            ? `${section.key}'s cathode stands above its heater by`
            : `${section.key}'s heater stands above its cathode by`,
        limitIs: `${bound.words}, heater ${side},`,
        note:
          `cathode at ${quantity(cathodeVolts, "V")}, heater at ${quantity(most.heater, "V")}` +
          (most.swing >= 1 ? ` and ${quantity(most.swing, "V")} of alternating volts at their crest` : ""),
        todo: inString
          ? "A type that is rated for it, its heater nearer to the earthed end of the string, or less volts on the string."
          : side === "negative"
            ? `A type that is rated for it, or the heaters lifted to some ${quantity(lift, "V")} by a divider on the HT, where the ` +
              "others on that winding allow it."
            : -cathodeVolts > most.heater
              ? `A diode that holds the cathode near common${solution.state === "cold" ? " while the valve is cold" : ""} (anode on common), ` +
                "or heaters on a winding of their own that is held near the cathode's volts."
              : lowering(circuit, valve.heater?.nets ?? [], solution),
        related: [
          h === undefined ? undefined : relatedNet(circuit, h, `the heater, ${netName(circuit, h)}`),
          ...(valve.heater ? heldBy(circuit, valve.heater.nets) : [])
            .slice(0, 2)
            .map((part) => relatedPart(part, `${part.reference} holds the heaters where they are`)),
          ...(cathode === undefined ? [] : cathodeResistors(circuit, cathode))
            .slice(0, 2)
            .map((part) => relatedPart(part, `${part.reference} is in the cathode's lead`)),
        ],
      };
    },
  });
}

const holders = new KeptWith<Circuit, Map<string, readonly Part[]>>();

/** What ties the heaters to their level: resistors and pots from them to somewhere else. */
function heldBy(circuit: Circuit, heaters: readonly NetIndex[]): readonly Part[] {
  let byNets = holders.get(circuit);
  if (!byNets) {
    byNets = new Map();
    holders.set(circuit, byNets);
  }
  const key = heaters.join();
  let found = byNets.get(key);
  if (!found) {
    const { node } = topologyOf(circuit);
    // With an end on common itself nothing else holds them, whatever hangs on common too.
    found = heaters.some((net) => node[net] === -1)
      ? []
      : [...new Set(heaters.flatMap((net) => partsOn(circuit, net)))].filter(
          (part) =>
            (part.kind === "resistor" || part.kind === "pot") &&
            netsOf(part).some((net) => !heaters.includes(net)),
        );
    byNets.set(key, found);
  }
  return found;
}

/** In some states alone. Written out: a copy with `...` has a shape of its own each time, which slows whoever reads it. */
const within = (where: Where, states: readonly StateName[], tolerance = where.tolerance): Where => ({
  states,
  levels: where.levels,
  tolerance,
  seek: where.seek,
});

interface Apart {
  readonly value: number;
  readonly heater: number;
  /** Of the heater about that level, at its crest. */
  readonly swing: number;
  readonly solution: Solution;
}

/** The furthest that heater and cathode stand apart on one side; NaN where the heater's level is not known. */
function worstApart(context: RuleContext, section: Section, where: Where, side: Side): Apart | undefined {
  const cathode = section.cathode;
  const heaters = section.valve.heater?.nets;
  if (cathode === undefined || !heaters) return undefined;
  let found: Apart | undefined;
  for (const solution of solutions(context.analysis, where)) {
    // Out of its socket a valve has neither.
    if (solution.state === "pulled" && outputValves(context.circuit).has(section.valve.reference)) continue;
    // Between cold valves alone a cathode stands nowhere in particular: what is told of it then is no voltage to hold.
    if (solution.state === "cold" && !section.rectifier && !heldWhileCold(context.circuit, cathode)) continue;
    const apart = apartIn(
      solution,
      cathode,
      heaters,
      side,
      where.tolerance !== "nominal",
      section.valve.reference,
    );
    if (!found || apart.value > found.value || (Number.isNaN(apart.value) && solution.state === "idle")) {
      found = apart;
    }
  }
  return found;
}

function apartIn(
  solution: Solution,
  cathode: NetIndex,
  heaters: readonly [NetIndex, NetIndex],
  side: Side,
  tolerance: boolean,
  average: string,
): Apart {
  const band = tolerance ? solution.netBand(cathode, average) : undefined;
  const nominal = solution.volts[cathode];
  const swing = (solution.peak[cathode] - solution.trough[cathode]) / 2 || 0;
  const high = (band && !Number.isNaN(band.high) ? band.high : nominal) + swing;
  const low = (band && !Number.isNaN(band.low) ? band.low : nominal) - swing;
  const { volts, peak, trough } = solution;
  const [h, other] = heaters;
  const level = (volts[h] + volts[other]) / 2;
  const lowest = Math.min(either(trough[h], trough[other]), either(trough[other], trough[h]));
  const highest = Math.max(either(peak[h], peak[other]), either(peak[other], peak[h]));
  const bottom = Number.isNaN(lowest) ? level : lowest;
  const top = Number.isNaN(highest) ? level : highest;
  const value = side === "negative" ? high - bottom : side === "positive" ? top - low : level - low;
  const swung = side === "negative" ? level - bottom : side === "positive" ? top - level : 0;
  return { value, heater: Math.abs(level) < 0.05 + swung / 100 ? 0 : level, swing: swung, solution };
}

const either = (value: number, otherwise: number): number => (Number.isNaN(value) ? otherwise : value);
