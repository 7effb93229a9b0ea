import type { Circuit, NetIndex } from "../../circuit/model.ts";
import { deadSupply, twoHalves } from "../../facts/practice.ts";
import { reservoirFarads } from "../../facts/supply.ts";
import type { Solution } from "../../physics/results.ts";
import { ends, finding, listed, netName, partsOn, quantity, relatedPart } from "../frame/index.ts";
import type { Finding, Rule } from "../rule.ts";
import { netsWith, topologyOf } from "../shared/nodes.ts";
import { loadsOf } from "./heaters.ts";
import { waysOf } from "./high-tension.ts";
import { joinedWindings, type Wound } from "./joined-windings.ts";
import { type RectifierPlate, rectifierValves } from "./rectifiers.ts";
import { middleOf, type Side, sidesOf } from "./winding-sides.ts";

const BAD = (second: string): string => `transformer T1 40VA {
  primary 230V 30R            { a b }
  ht      250-0-250V 60mA 300R { x gnd y }
}
diode D1 1N4007 { anode: x, cathode: HT }
${second}HT -- capacitor C1 32u 500V electrolytic -- gnd
HT -- resistor R1 10k 25W wirewound 700V -- gnd
`;

export const halfWave: Rule = {
  id: "supply/half-wave",
  severity: "warning",
  sentence: "A winding made for full-wave rectification is rectified on one half only.",
  why:
    "The current that the winding gives is then all in one direction: it magnetises the core, the transformer hums and heats, " +
    "the half that works carries it all, and the ripple is twice as large and of the mains' own frequency.",
  source: twoHalves.source,
  quiet:
    "Quiet on a half-wave supply that is meant so: a winding without a middle, or with an end on circuit common; on bias taps, on " +
    "doublers, on windings that heaters hang on, and on rectifiers that carry nothing at idle. Two like windings in series count as " +
    "one with a tap, unless the second serves something else.",
  bad: `amp "One diode of two"\n${BAD("")}`,
  good: `amp "Both of them"\n${BAD("diode D2 1N4007 { anode: y, cathode: HT }\n")}`,
  leads: [
    "rating/diode-current",
    "rating/capacitor-ripple",
    "supply/rectifier-direct-current",
    "supply/rectifier-peak-current",
    "supply/ripple",
    "supply/transformer-load",
    "supply/winding-current",
    "supply/reservoir-size",
    "bench/reading",
  ].map((rule) => ({ rule, sharing: "any", manner: "mark" })),
  *check(context) {
    const { circuit, analysis } = context;
    const idle = analysis.solution("idle", "nominal");
    if (!idle?.solved) return;
    for (const wound of joinedWindings(circuit)) {
      yield;
      const { windings, transformer } = wound;
      if (windings.some((one) => one.refused || loadsOf(circuit, one).length > 0)) continue;
      const sides = sidesOf(circuit, idle, wound);
      if (!sides || sides.every(({ out }) => out.length === 0)) continue;
      context.checked(transformer.reference);
      if (wound.inPhase) {
        if (fillTogether(circuit, sides)) yield together(circuit, idle, wound, sides);
        continue;
      }
      const [own, other] = sides[0].outAmps >= sides[1].outAmps ? sides : [sides[1], sides[0]];
      if (!(own.outAmps > deadSupply.amps) || other.outAmps > twoHalves.idleShare * own.outAmps) continue;
      // What comes back by the same end leaves no direct current in it: a doubler.
      if (own.inAmps > own.outAmps / 2) continue;
      // Of two windings the second may be meant for something else.
      if (windings.length > 1 && isUsedOtherwise(circuit, other)) continue;
      const middle = middleOf(circuit, wound);
      const returned = other.inAmps > own.outAmps / 2;
      const todo = returned
        ? missingArm(circuit, own, other)
        : middle === undefined
          ? undefined
          : missingHalf(circuit, own, other);
      if (todo) yield told(circuit, idle, wound, own, other, todo);
    }
  },
};

/** Something else than a rectifier that takes current hangs on this end. */
function isUsedOtherwise(circuit: Circuit, side: Side): boolean {
  if (side.in.length > 0) return true;
  const taking = new Set(side.out.map(({ part }) => part));
  return netsWith(circuit, side.net).some((net) =>
    partsOn(circuit, net).some(
      (part) => part.kind !== "transformer" && !taking.has(part) && (ends(part)?.length ?? 0) === 2,
    ),
  );
}

/** Both ends, straight on the same supply. */
function fillTogether(circuit: Circuit, [one, other]: readonly [Side, Side]): boolean {
  const { node } = topologyOf(circuit);
  if (one.in.length > 0 || other.in.length > 0) return false;
  const supplies = new Set(one.out.map(({ to }) => node[to]));
  const least = Math.min(one.outAmps, other.outAmps);
  return least > deadSupply.amps && other.out.some(({ to }) => supplies.has(node[to]));
}

/** Two windings meant for the two halves of a cycle that both give in the same one. */
function together(
  circuit: Circuit,
  idle: Solution,
  wound: Wound,
  [one, other]: readonly [Side, Side],
): Finding {
  const { keys, windings, nets } = wound;
  const [second] = windings.slice(1);
  const parts = [...new Set([...one.out, ...other.out].map(({ part }) => part))];
  const { net, ripple } = supplyBehind(circuit, idle, one);
  const { hertz } = circuit.mains;
  const amps = one.outAmps + other.outAmps;
  return finding(halfWave, {
    message:
      `${listed(keys)} are joined at ${netName(circuit, nets[1])} by like ends: both give their current ` +
      `(${quantity(amps, "A")} together) in the same half of the cycle, half-wave. All of it is direct current in the windings, which ` +
      "magnetises the core and heats the transformer; the ripple" +
      `${ripple === undefined ? "" : ` on ${netName(circuit, net)} (${quantity(ripple, "V")})`} is of ${hertz} Hz. ` +
      `Exchange the two ends of ${keys[1]}.`,
    on: [...keys, ...parts.map(({ reference }) => reference)],
    place: second.place,
    state: "idle",
    mains: "nominal",
    value: amps,
    unit: "A",
    related: parts.slice(0, 4).map((part) => relatedPart(part, "rectifies these windings")),
  });
}

/** The other end of a centre-tapped winding: what is to be done about it. */
function missingHalf(circuit: Circuit, own: Side, other: Side): string {
  const there = netName(circuit, other.net);
  const [silent] = other.out;
  if (silent)
    return `${silent.part.reference} is on ${there} and carries nothing: look at where its cathode leads (${netName(circuit, silent.to)}).`;
  const [working] = own.out;
  const valve = rectifierValves(circuit).find((entry) => entry.valve === working.part);
  const free = valve?.plates.find(({ net }) => !isOn(circuit, own, net));
  if (valve && free)
    return `${free.key} is on ${netName(circuit, free.net)}, which the winding does not come to: join it to ${there}.`;
  const unwired = valve && ["plate1", "plate2"].find((name) => !hasPlate(valve.plates, name));
  if (valve && unwired && valve.section.electrodes.has(unwired === "plate1" ? "plate2" : "plate1"))
    return `${valve.key}.${unwired} is wired to nothing: join it to ${there}.`;
  const twice = valve && valve.plates.length > 1;
  if (valve && twice)
    return `Both plates of ${valve.key} are on ${netName(circuit, own.net)}: one of them belongs on ${there}.`;
  return `A rectifier from ${there} to ${netName(circuit, working.to)} is missing, or ${there} is not joined to it.`;
}

const hasPlate = (plates: readonly RectifierPlate[], name: string): boolean =>
  plates.some((plate) => plate.name === name);

const isOn = (circuit: Circuit, side: Side, net: NetIndex): boolean =>
  side.nodes.has(topologyOf(circuit).node[net]);

/** The arm that a bridge lacks; undefined where the two that carry the current are all that there is. */
function missingArm(circuit: Circuit, own: Side, other: Side): string | undefined {
  const { node } = topologyOf(circuit);
  const [here, there] = [netName(circuit, own.net), netName(circuit, other.net)];
  const supply = own.out[0].to;
  const returning = other.in[0].from;
  const comesBack = own.in.some(({ from }) => node[from] === node[returning]);
  const goesOut = other.out.some(({ to }) => node[to] === node[supply]);
  if (comesBack === goesOut) return undefined;
  const [from, to, parts] = comesBack
    ? [there, netName(circuit, supply), other.out]
    : [netName(circuit, returning), here, own.in];
  const astray = [...new Set(parts.map(({ part }) => part.reference))];
  const meant = astray.length > 0 ? ` Look at ${listed(astray)}, which may be meant for it.` : "";
  return `The arm of its bridge from ${from} to ${to} is missing, or not joined.${meant}`;
}

/** Behind rectifiers in series the net that they lead to, and the ripple on it where a reservoir holds it. */
function supplyBehind(circuit: Circuit, idle: Solution, { out }: Side): { net: NetIndex; ripple?: number } {
  const { node } = topologyOf(circuit);
  const ways = waysOf(circuit);
  const passed = new Set(out);
  let [last] = out;
  for (;;) {
    const next = ways.find(({ from }) => node[from] === node[last.to]);
    if (!next || passed.has(next)) break;
    passed.add(next);
    last = next;
  }
  const held = partsOn(circuit, last.to).some(
    (part) => part.kind === "capacitor" && part.farads.value >= reservoirFarads,
  );
  return { net: last.to, ripple: held ? idle.ripple[last.to] : undefined };
}

function told(
  circuit: Circuit,
  idle: Solution,
  winding: Wound,
  own: Side,
  other: Side,
  todo: string,
): Finding {
  const parts = [...new Set([...own.out, ...other.in, ...other.out, ...own.in].map(({ part }) => part))];
  const working = [...new Set(own.out.map(({ part }) => part.reference))];
  const { net, ripple } = supplyBehind(circuit, idle, own);
  const { hertz } = circuit.mains;
  const there = netName(circuit, other.net);
  const { keys } = winding;
  return finding(halfWave, {
    message:
      `${keys.length > 1 ? `${listed(keys)}, in series, are` : `${keys[0]} is`} rectified on one half only: ${listed(working)} ${working.length > 1 ? "take" : "takes"} ` +
      `${quantity(own.outAmps, "A")} from ${netName(circuit, own.net)} at idle, and nothing is taken from ${there}. All of it is ` +
      "direct current in the winding, which magnetises the core and heats the transformer; the ripple" +
      `${ripple === undefined ? "" : ` on ${netName(circuit, net)} (${quantity(ripple, "V")})`} is of ${hertz} Hz, where full-wave it ` +
      `would be of ${2 * hertz} Hz, and half or less. ${todo}`,
    // The winding, not its transformer: what is amiss at another winding is no cause of it.
    on: [...keys, ...parts.map(({ reference }) => reference), there, netName(circuit, own.net)],
    place: winding.netPlaces[winding.nets.indexOf(other.net)] ?? winding.windings[0].place,
    state: "idle",
    mains: "nominal",
    value: own.outAmps,
    unit: "A",
    related: parts.slice(0, 4).map((part) => relatedPart(part, "rectifies this winding")),
  });
}
