import type { Capacitor, Circuit, NetIndex, Part } from "../../circuit/model.ts";
import { staticBleed, touchCurrent } from "../../facts/mains.ts";
import { finding, limit, listed, netName, partsOf, quantity, relatedPart } from "../frame/index.ts";
import type { Finding, Rule } from "../rule.ts";
import { MAINS_CAUTION } from "./caution.ts";
import { outletOf } from "./either-way-round.ts";
import { example } from "./example.ts";
import { type MainsSide, mainsSide, type Positions, reach } from "./graph.ts";
import { isCrossed, isMetal, mainsCapacitors } from "./nets.ts";
import { conductors, type Orientation } from "./reaches.ts";

export const touch: Rule = {
  id: "mains/touch-current",
  severity: "error",
  sentence: "The capacitors to the metal leak more current than class I allows.",
  why:
    "With the earth broken, this is the current that flows through whoever touches the amplifier: capacitors that are " +
    "sound and of the right class still pass it.",
  source:
    "IEC 60950-1 table 5A (3.5 mA, class I); ANSI C101 and UL (0.5 mA, portable apparatus in North America)",
  quiet:
    "A resistor from the active to the metal is told even where its current is within the limit, save one of megohms. Quiet on capacitors that stand on the neutral alone where the plug is polarised, and where the mains is joined to " +
    "the metal outright (mains/crossed).",
  caution: MAINS_CAUTION,
  bad: example({
    name: "Too much class Y",
    rest: `h1 -- lamp LP1 6.3V 5A -- gnd
live -- capacitor C1 47n 5% Y2 250VAC ceramic -- chassis`,
  }),
  good: example({
    name: "Little class Y",
    rest: `h1 -- lamp LP1 6.3V 5A -- gnd
live -- capacitor C1 4n7 5% Y2 250VAC ceramic -- chassis`,
  }),
  *check(context) {
    const { circuit } = context;
    const side = mainsSide(circuit);
    if (!side || isCrossed(side)) return;
    const capacitors = mainsCapacitors(side).flatMap((entry) =>
      entry.bridge === "to-metal" ? [entry.capacitor] : [],
    );
    const resistors = partsOf(circuit, "resistor").filter((part) => liveEnd(side, part) !== undefined);
    if (capacitors.length + resistors.length === 0) return;
    const orientations: Orientation[] =
      outletOf(circuit)?.polarised === false ? ["wired", "exchanged"] : ["wired"];
    let worst: { amps: number; parts: Part[] } = { amps: 0, parts: [] };
    for (const orientation of orientations) {
      for (const positions of side.positions) {
        const live = liveNets(side, orientation, positions);
        const onLive = (part: Part) => live.has(liveEnd(side, part) ?? -1);
        const own = [...capacitors.filter(onLive), ...resistors.filter(onLive)];
        const volts = circuit.mains.volts.high;
        const amps = own.reduce(
          (sum, part) =>
            sum +
            volts * (part.kind === "capacitor" ? siemens(part, circuit.mains.hertz) : 1 / part.ohms.value),
          0,
        );
        if (amps > worst.amps) worst = { amps, parts: own };
      }
    }
    const figure = touchCurrent(circuit.mains.region);
    const parts = worst.parts.length > 0 ? worst.parts : [...capacitors, ...resistors];
    const names = parts.map((part) => part.reference);
    const allowed = figure.value / (circuit.mains.volts.high * 2 * Math.PI * circuit.mains.hertz);
    const found = limit(context, touch, {
      on: names,
      place: parts[0].place,
      says: `${listed(names)} ${names.length > 1 ? "pass" : "passes"}`,
      value: worst.amps,
      limit: figure.value,
      limitIs: "touch current allowed",
      unit: "A",
      mains: "high",
      note: "earth open, tolerance included",
      todo: parts.every((part) => part.kind === "resistor")
        ? "Take it out, or make it larger."
        : `Keep the sum from one conductor to the metal under ${quantity(allowed, "F", 2)}.`,
      related: parts.slice(1).map((part) => relatedPart(part, "passes its share")),
      source: figure.source,
    });
    if (found) yield found;
    else
      for (const part of worst.parts)
        if (part.kind === "resistor" && circuit.mains.volts.high / part.ohms.value > staticBleed.amps)
          yield alone(circuit, side, part);
  },
};

/** A body that holds no mains impulse, and drifts: no capacitor of class Y would be let off so. */
function alone(circuit: Circuit, side: MainsSide, part: Part): Finding {
  const live = liveEnd(side, part);
  const [metal] = [...part.terminals.values()].filter((net) => net !== live);
  return finding(touch, {
    severity: "warning",
    message:
      `${part.reference}, a resistor, is all that stands between ${live === undefined ? "the mains" : netName(circuit, live)} and ` +
      `${netName(circuit, metal)}: it is not made to hold the mains off what is touched, and its current flows through whoever is the earth. ` +
      "Take it out; what has to be there is a capacitor of class Y.",
    on: [part.reference],
    place: part.place,
    source:
      "IEC 62368-1 clause 5.5 (what bridges the insulation of the mains has passed its tests), from memory",
  });
}

/** The net of a part between mains and metal that is on the mains side. */
function liveEnd(side: MainsSide, part: Part): NetIndex | undefined {
  const nets = [...part.terminals.values()];
  if (nets.length !== 2 || !nets.some((net) => isMetal(side, net))) return undefined;
  return nets.find((net) => side.nets.has(net));
}

/** Nets at the active's potential: joined to it, or hanging from it through a load that the neutral does not reach. */
function liveNets(side: MainsSide, orientation: Orientation, positions: Positions): ReadonlySet<NetIndex> {
  const { active, neutral } = conductors(side, orientation);
  const grounded = reach(side, neutral, { positions });
  const through = reach(side, active, { positions, loads: true });
  return new Set([...through.keys()].filter((net) => !grounded.has(net)));
}

const siemens = (part: Capacitor, hertz: number): number =>
  2 * Math.PI * hertz * part.farads.value * (1 + part.tolerance.value);
