import { KeptWith } from "../../circuit/kept-with.ts";
import type { Circuit, MainsLevel, NetIndex, Transformer, Valve, Winding } from "../../circuit/model.ts";
import { heaterVolts } from "../../facts/heaters.ts";
import { bookOf } from "../../facts/valves/book.ts";
import type { HeaterArrangement } from "../../facts/valves/index.ts";
import type { Solution } from "../../physics/results.ts";
import {
  estimateOf,
  finding,
  limit,
  listed,
  netName,
  partsOf,
  quantity,
  relatedPart,
} from "../frame/index.ts";
import type { Finding, Rule, RuleContext } from "../rule.ts";
import { sameNode, topologyOf } from "../shared/nodes.ts";
import { arrangementOf, secondaries, windingVolts } from "../supply/heaters.ts";

export const heaterVoltage: Rule = {
  id: "valve/heater-voltage",
  severity: "error",
  sentence: "The heater is not on the volts that it is made for.",
  why:
    "Too high, the cathode's coating boils off and the heater fails; too low, the cathode is poisoned, and output valves and " +
    "rectifiers are stripped first. Past ten per cent the other ratings of the valve no longer hold.",
  source: `${heaterVolts.warning.source}; ${heaterVolts.error.source}`,
  quiet:
    "Quiet within 5 % at nominal mains. At high and low mains the mains' own tolerance is added, so a supply that is right at " +
    "nominal is right everywhere. Unchecked where the file gives no heater a supply.",
  bad: `amp "6.3 V heaters on a 12.6 V winding"
transformer T1 30VA {
  primary 230V 40R { a b }
  heater  12.6V 2A { h1 gnd }
}
source B1 250V { plus: HT, minus: gnd }
valve V1 EL84 { plate: HT, screen: HT, grid: g1, cathode: k1, heater: h1 gnd }
g1 -- resistor R2 470k 0.5W -- gnd
k1 -- resistor R3 180R 5W wirewound -- gnd
`,
  good: `amp "6.3 V heaters on 6.3 V"
transformer T1 10VA {
  primary 230V 150R  { a b }
  heater  6.3V 0.76A { h1 gnd }
}
source B1 250V { plus: HT, minus: gnd }
valve V1 EL84 { plate: HT, screen: HT, grid: g1, cathode: k1, heater: h1 gnd }
g1 -- resistor R2 470k 0.5W -- gnd
k1 -- resistor R3 180R 5W wirewound -- gnd
`,
  leads: [
    { rule: "supply/winding-current", sharing: "part", manner: "mark" },
    { rule: "supply/transformer-load", sharing: "part", manner: "mark" },
  ],
  *check(context) {
    // Heaters that share a winding stand off together: one finding, with the others named.
    const groups = new Map<string, { finding: Finding; members: string[] }>();
    for (const valve of partsOf(context.circuit, "valve")) {
      yield;
      const facts = valve.type === undefined ? undefined : bookOf(context.circuit).find(valve.type);
      if (!facts || facts.heater.length === 0) continue;
      if (!valve.heater) {
        context.unchecked(
          valve.reference,
          "heater volts (its heater is not wired in the file)",
          valve.referencePlace,
        );
        continue;
      }
      const found = held(context, valve);
      if (!found) continue;
      const feeder = feederOf(context, valve);
      const key = `${feeder?.key ?? leadsOf(context.circuit, valve)}|${found.severity}|${found.limit}`;
      const group = groups.get(key);
      if (group) group.members.push(valve.reference);
      else groups.set(key, { finding: found, members: [valve.reference] });
    }
    for (const { finding, members } of groups.values()) {
      if (members.length === 1) yield finding;
      else
        yield {
          ...finding,
          on: [...finding.on, ...members.slice(1)],
          message: `${finding.message} ${listed(members.slice(1))} hang${members.length > 2 ? "" : "s"} on the same volts.`,
        };
    }
  },
};

function held(context: RuleContext, valve: Valve): Finding | undefined {
  const { circuit, analysis } = context;
  const place = valve.heater?.place ?? valve.referencePlace;
  let known = false;
  let warning: Finding | undefined;
  const feeder = feederOf(context, valve);
  // What rests on a guess at the copper is not known to a few per cent.
  const guess = feeder && isGuess(feeder) ? heaterVolts.estimated.value : 0;
  const on = [valve.reference, `${valve.reference}.heater`, ...(feeder ? [feeder.key] : [])];
  for (const level of NOMINAL_FIRST) {
    const solution = analysis.solution("idle", level);
    const volts = solution?.solved ? heaterReading(solution, valve) : undefined;
    if (volts === undefined || !solution) continue;
    known = true;
    const arrangement = arrangementOf(circuit, valve, volts);
    if (!arrangement) continue;
    const { up, down } = allowance(circuit.mains.volts, level);
    for (const [tier, severity] of [
      [heaterVolts.error, "error"],
      [heaterVolts.warning, "warning"],
    ] as const) {
      if (severity === "warning" && warning) continue;
      const high = volts > arrangement.volts;
      const found = limit(context, heaterVoltage, {
        // Too high it loads the transformer; too low it may be the transformer's load that does it.
        on: high && feeder ? [...on, feeder.transformer.reference] : on,
        place,
        value: volts,
        limit: arrangement.volts * (high ? 1 + tier.value + up + guess : 1 - tier.value - down - guess),
        breach: high ? "above" : "below",
        unit: "V",
        state: "idle",
        mains: level,
        severity,
        source: tier.source,
        words: () => ({
          says: `${valve.reference}'s heater is on`,
          limitIs: `rated ${quantity(arrangement.volts, "V")}, ${high ? "at most" : "at least"}`,
          note: valve.heater?.wiring ? `wired in ${valve.heater.wiring}` : undefined,
          estimate: feeder && estimateOf(solution, feeder.key),
          todo: todoFor(circuit, valve, volts, arrangement, feeder),
          related: [relatedPart(feeder?.transformer, "fed from here")],
        }),
      });
      if (found && severity === "error") return found;
      if (found) warning = found;
    }
  }
  if (known) return warning;
  // Both ends on one net: circuit/short tells that.
  const shorted = valve.heater && sameNode(circuit, valve.heater.nets[0], valve.heater.nets[1]);
  const other = valve.heater && !shorted && fedElsewhere(context, valve);
  if (!other) {
    const solved = analysis.solution("idle", "nominal")?.solved;
    const why = solved === false ? "no solution was found" : "nothing in the file feeds it";
    context.unchecked(valve.reference, `heater volts (${why})`, place);
    return undefined;
  }
  context.checked(valve.reference);
  const [a, b] = (valve.heater?.nets ?? []).map((net) => netName(circuit, net));
  return finding(heaterVoltage, {
    severity: "warning",
    message:
      `${valve.reference}'s heater stands between ${a} and ${b}, where nothing feeds it, while ${other.reference}'s is fed: the valve stays ` +
      "cold, and what is computed of it here takes it as warm. Join it to the heater supply.",
    on,
    place,
    state: "idle",
    source: "common practice",
    related: [relatedPart(other, `${other.reference}'s heater is fed`)],
  });
}

/** What puts it right: the wiring that suits the volts, a winding that is made for it, or what moves the winding's volts. */
function todoFor(
  circuit: Circuit,
  valve: Valve,
  volts: number,
  arrangement: HeaterArrangement,
  feeder: Feeder | undefined,
): string {
  const facts = valve.type === undefined ? undefined : bookOf(circuit).find(valve.type);
  const near = (of: number, rated: number) => Math.abs(of / rated - 1) <= heaterVolts.error.value;
  const suited = facts?.heater.find((entry) => entry !== arrangement && near(volts, entry.volts));
  const [a, b] = (valve.heater?.nets ?? []).map((net) => netName(circuit, net));
  if (suited && valve.heater?.wiring)
    return `Its halves wired in ${suited.name} suit those volts: heater: ${a} ${b} ${suited.name}.`;
  const rated = feeder && valve.heater && windingVolts(circuit, feeder.winding, ...valve.heater.nets);
  if (rated !== undefined && !near(rated, arrangement.volts))
    return (
      `${feeder?.key} is a winding of ${quantity(rated, "V")}, and the heater of ${valve.reference} is made for ` +
      `${quantity(arrangement.volts, "V")}: it belongs on another winding, or another valve belongs here.`
    );
  return volts > arrangement.volts
    ? `The primary's tap for this mains, or ${feeder ? "a resistor" : "more resistance"} in the heaters' lead.`
    : `The primary's tap for this mains, or fewer heaters on ${feeder ? "the winding" : "this supply"}.`;
}

/** A valve whose heater has volts: then one without any is a slip, and not a file that leaves the heaters out. */
function fedElsewhere({ circuit, analysis }: RuleContext, valve: Valve): Valve | undefined {
  const idle = analysis.solution("idle", "nominal");
  if (!idle?.solved) return undefined;
  return partsOf(circuit, "valve").find(
    (other) => other !== valve && other.heater && heaterReading(idle, other) !== undefined,
  );
}

const NOMINAL_FIRST: readonly MainsLevel[] = ["nominal", "low", "high"];

const isGuess = ({ transformer, winding }: NonNullable<ReturnType<typeof feederOf>>): boolean =>
  winding.ohms.origin === "estimate" || transformer.primary?.ohms.origin === "estimate";

/** What the mains itself moves away from nominal at a level, as fractions. */
function allowance(
  volts: Readonly<Record<MainsLevel, number>>,
  level: MainsLevel,
): { up: number; down: number } {
  const share = volts[level] / volts.nominal - 1;
  return { up: Math.max(0, share), down: Math.max(0, -share) };
}

/** rms volts across a heater, or its dc where it is fed with that. */
export function heaterReading(solution: Solution, valve: Valve): number | undefined {
  const reading = solution.readings.get(`${valve.reference}.heater`);
  if (!reading) return undefined;
  const volts = reading.rmsVolts ?? reading.volts;
  if (volts === undefined || Number.isNaN(volts)) return undefined;
  const size = Math.abs(volts);
  // Both ends on one dead net: nothing feeds it.
  return size < 1e-3 ? undefined : size;
}

/** The two nodes that a heater hangs between, whichever way round. */
function leadsOf(circuit: Circuit, valve: Valve): string {
  const { node } = topologyOf(circuit);
  return (valve.heater?.nets ?? [])
    .map((net) => node[net])
    .sort((a, b) => a - b)
    .join("-");
}

function feederOf(context: RuleContext, valve: Valve): Feeder | undefined {
  const heater = valve.heater;
  if (!heater) return undefined;
  const [first, second] = heater.nets.map((net) => windingsAt(context.circuit, net));
  return first.find((entry) => second.includes(entry));
}

interface Feeder {
  readonly transformer: Transformer;
  readonly winding: Winding;
  readonly key: string;
}

const feeders = new KeptWith<Circuit, ReadonlyMap<number, readonly Feeder[]>>();

/** The secondaries on a net's node, in the file's order. */
function windingsAt(circuit: Circuit, net: NetIndex): readonly Feeder[] {
  const { node } = topologyOf(circuit);
  let byNode = feeders.get(circuit);
  if (!byNode) {
    const found = new Map<number, Feeder[]>();
    for (const entry of secondaries(circuit)) {
      for (const at of new Set(entry.winding.nets.map((own) => node[own]))) {
        const list = found.get(at);
        if (list) list.push(entry);
        else found.set(at, [entry]);
      }
    }
    byNode = found;
    feeders.set(circuit, byNode);
  }
  return byNode.get(node[net]) ?? [];
}
