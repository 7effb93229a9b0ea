import type { Circuit, Jack, NetIndex, Part } from "../../circuit/model.ts";
import { liftAmps, liftAmpsLeast } from "../../facts/mains.ts";
import { bookOf } from "../../facts/valves/book.ts";
import { finding, listed, partsOf, partsOn, quantity, relatedPart } from "../frame/index.ts";
import { MAINS_CAUTION } from "../mains/caution.ts";
import { example } from "../mains/example.ts";
import { mainsSide } from "../mains/graph.ts";
import type { Finding, Rule } from "../rule.ts";
import { walk } from "./path.ts";

export const commonLift: Rule = {
  id: "earth/common-lift",
  severity: "error",
  sentence: "Circuit common comes to the chassis only through a lift that cannot carry a fault.",
  why:
    "When a primary breaks through to a secondary, or the high tension to a jack, the current must blow a fuse. A " +
    "resistor burns out instead, and then the jacks and the strings are live.",
  source: "common practice: a lift is bridged by rectifiers both ways that hold until the fuse has blown",
  quiet:
    "Quiet on a bond, on a jack that touches the chassis (advice where a lift stands beside either), on rectifiers both ways (or a bridge) of 10 A or more beside " +
    "the resistor, and in files without a cord or inlet. Rectifiers without a rating are told as unchecked, and so is a " +
    "common that the file joins to the chassis nowhere.",
  caution: MAINS_CAUTION,
  bad: example({
    name: "Lift of a resistor alone",
    earth: `inE -- bond E1 own-fixing -- chassis
gnd -- resistor R9 10R 5W wirewound -- chassis`,
  }),
  good: example({
    name: "Lift with a bridge",
    earth: `inE -- bond E1 own-fixing -- chassis
gnd -- resistor R9 10R 5W wirewound -- chassis
gnd -- capacitor C9 100n 400V film -- chassis
bridge BR9 400V 35A { ac1: gnd, ac2: chassis, plus: lp, minus: lp }`,
  }),
  *check(context) {
    const { circuit } = context;
    const { ground, chassis } = circuit;
    const side = mainsSide(circuit);
    if (!side || ground === undefined || chassis === undefined) return;
    const metal = new Set(walk(circuit, [chassis, ...side.earth], false).keys());
    const common = new Set(walk(circuit, [ground], false).keys());
    const tied = [...common].some((net) => metal.has(net));
    const jacks = tied ? [] : jackTies(circuit, common);
    if (tied || jacks.length > 0) {
      context.checked("gnd");
      const lift = tied ? bridgedLift(circuit, side.earth) : meantLift(circuit, common, metal);
      if (lift.length > 0) yield defeated(circuit, lift, jacks);
      return;
    }
    const there = liftWay(circuit, common, metal);
    const back = liftWay(circuit, metal, common);
    const between = liftParts(circuit, common, metal);
    if (between.length === 0) {
      const place = circuit.nets[ground].mentions[0];
      if (place)
        context.unchecked("gnd", "how circuit common is joined to the chassis (nothing does)", place);
      return;
    }
    context.checked("gnd");
    const rectifiers = there && back ? [...new Set([...there, ...back])] : undefined;
    const names = listed(between.map((part) => part.reference));
    const on = ["gnd", ...between.map((part) => part.reference)];
    const related = between.slice(1).map((part) => relatedPart(part, "also between common and chassis"));
    if (!rectifiers) {
      yield finding(commonLift, {
        message:
          `Circuit common comes to the chassis only through ${names}, which cannot carry a fault. Bridge it with ` +
          `rectifiers both ways of ${quantity(liftAmps.value, "A")} or more, or bond common to the chassis.`,
        on,
        place: between[0].place,
        related,
      });
      return;
    }
    for (const part of rectifiers) {
      const rated = ratedAmps(context.circuit, part);
      if (rated === undefined) {
        context.unchecked(
          part.reference,
          "the current that it carries in a fault, as part of the lift",
          part.place,
        );
      } else if (rated < liftAmps.value * (1 - 1e-9)) {
        yield finding(commonLift, {
          severity: rated < liftAmpsLeast.value * (1 - 1e-9) ? "error" : "warning",
          message:
            `Circuit common is lifted from the chassis by ${names}; ${part.reference} carries ${quantity(rated, "A")}, ` +
            `under the ${quantity(liftAmps.value, "A")} that a fault asks for until the fuse has blown. Fit a bridge of 25 to 35 A.`,
          on: [part.reference, "gnd"],
          place: part.place,
          value: rated,
          limit: liftAmps.value,
          unit: "A",
          related,
          source: liftAmps.source,
        });
        return;
      }
    }
  },
};

/** Average forward amperes, as the file has them or as the type is published. */
function ratedAmps(circuit: Circuit, part: Part): number | undefined {
  if ("amps" in part && part.amps) return part.amps.value;
  if ((part.kind !== "diode" && part.kind !== "bridge") || part.type === undefined) return undefined;
  return bookOf(circuit).findSemiconductor(part.type)?.limits.forwardAmpsAverage;
}

/** Jacks that are not insulated, their sleeves on common: they tie common to the chassis. */
function jackTies(circuit: Circuit, common: ReadonlySet<NetIndex>): readonly Jack[] {
  return partsOf(circuit, "jack").filter(
    (jack) => !jack.insulated && common.has(jack.terminals.get("sleeve") ?? -1),
  );
}

/** What is only there to lift common: a capacitor alone between common and chassis is there against interference. */
const LIFTS = new Set<Part["kind"]>(["resistor", "diode", "bridge", "thermistor", "choke"]);

function meantLift(circuit: Circuit, common: ReadonlySet<NetIndex>, metal: ReadonlySet<NetIndex>): Part[] {
  return liftParts(circuit, common, metal).filter((part) => LIFTS.has(part.kind));
}

/** Parts from common straight to the chassis or to the earth core, where bonds or wires join the two as well. */
function bridgedLift(circuit: Circuit, earth: readonly NetIndex[]): Part[] {
  const { ground, chassis } = circuit;
  if (ground === undefined) return [];
  return partsOn(circuit, ground).filter(
    (part) =>
      LIFTS.has(part.kind) &&
      [...part.terminals.values()].some((net) => net === chassis || earth.includes(net)),
  );
}

/** A lift that is there, with a way beside it that takes its purpose away. */
function defeated(circuit: Circuit, lift: readonly Part[], jacks: readonly Jack[]): Finding {
  const names = listed(lift.map((part) => part.reference));
  const { ground, chassis } = circuit;
  const beside =
    jacks.length > 0 || ground === undefined
      ? []
      : partsOn(circuit, ground).filter(
          (part) =>
            (part.kind === "bond" || part.kind === "wire") &&
            chassis !== undefined &&
            [...part.terminals.values()].includes(chassis),
        );
  const one = jacks.length === 1;
  const by =
    jacks.length > 0
      ? `${listed(jacks.map((jack) => jack.reference))}, which ${one ? "is" : "are"} not insulated: ${one ? "its sleeve ties" : "their sleeves tie"} common to the ` +
        `chassis there, and a fault's current goes by the ${one ? "sleeve" : "sleeves"}. Fit ${one ? "an insulated jack" : "insulated jacks"}, or take the lift out and bond common`
      : `${beside.length > 0 ? listed(beside.map((part) => part.reference)) : "a bond or wire elsewhere"}, which joins common to the chassis ` +
        "as well. Keep one of the two: the bond, or the lift";
  return finding(commonLift, {
    severity: "advice",
    message: `${names} ${lift.length > 1 ? "lift" : "lifts"} circuit common from the chassis, and ${lift.length > 1 ? "are" : "is"} bridged by ${by}.`,
    on: ["gnd", ...lift.map((part) => part.reference), ...jacks.map((jack) => jack.reference)],
    place: lift[0].place,
    related: [...jacks, ...beside].map((part) => relatedPart(part, "bridges the lift")),
  });
}

/** Parts with one end on each side, or on the way between: what the lift is made of. */
function liftParts(circuit: Circuit, from: ReadonlySet<NetIndex>, to: ReadonlySet<NetIndex>): Part[] {
  const near = (part: Part, nets: ReadonlySet<NetIndex>) =>
    [...part.terminals.values()].some((net) => nets.has(net));
  const kinds = new Set<Part["kind"]>([
    "resistor",
    "capacitor",
    "diode",
    "zener",
    "bridge",
    "fuse",
    "thermistor",
    "choke",
    "lamp",
    "switch",
  ]);
  return circuit.parts.filter((part) => {
    if (!kinds.has(part.kind)) return false;
    const nets =
      part.kind === "switch"
        ? part.poles.flatMap((pole) => [pole.common ?? -1, ...pole.throws.values()])
        : [];
    const switchNear = (side: ReadonlySet<NetIndex>) => nets.some((net) => side.has(net));
    if (part.kind === "switch") return switchNear(from) && switchNear(to);
    if (near(part, from) && near(part, to)) return true;
    // One of two rectifiers in series: the other end is a net that leads on to the other side.
    if (part.kind !== "diode" && part.kind !== "bridge") return false;
    if (!near(part, from) && !near(part, to)) return false;
    const far = near(part, from) ? to : from;
    return [...part.terminals.values()].some((net) =>
      partsOn(circuit, net).some((p) => p !== part && p.kind === "diode" && near(p, far)),
    );
  });
}

/** Rectifiers and chokes of a way that passes current from one side to the other; undefined where there is none. */
function liftWay(
  circuit: Circuit,
  from: ReadonlySet<NetIndex>,
  to: ReadonlySet<NetIndex>,
): Part[] | undefined {
  const found = new Map<NetIndex, { from: NetIndex; part?: Part } | undefined>();
  for (const net of from) found.set(net, undefined);
  for (const net of found.keys()) {
    if (to.has(net)) {
      const parts: Part[] = [];
      for (let step = found.get(net); step; step = found.get(step.from)) if (step.part) parts.push(step.part);
      return parts;
    }
    for (const part of partsOn(circuit, net)) {
      for (const next of forwards(part, net)) {
        if (found.has(next)) continue;
        const carries =
          part.kind === "diode" ||
          part.kind === "bridge" ||
          part.kind === "thermistor" ||
          part.kind === "choke";
        found.set(next, { from: net, part: carries ? part : undefined });
      }
    }
  }
  return undefined;
}

/** Where a fault current goes on from a net of a part that stands it. */
function forwards(part: Part, net: NetIndex): NetIndex[] {
  const at = (name: string) => part.terminals.get(name);
  const to = (name: string) => [at(name)].filter((next): next is NetIndex => next !== undefined);
  switch (part.kind) {
    case "wire":
    case "bond":
    case "choke":
    case "thermistor":
      return [...part.terminals.values()].filter((next) => next !== net);
    case "diode":
      return at("anode") === net ? to("cathode") : [];
    case "bridge":
      return [
        ...(at("ac1") === net || at("ac2") === net ? to("plus") : []),
        ...(at("minus") === net ? [...to("ac1"), ...to("ac2")] : []),
      ];
    default:
      return [];
  }
}
