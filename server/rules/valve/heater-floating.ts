import type { Circuit, NetIndex, Valve } from "../../circuit/model.ts";
import { cathodeOnHeater } from "../../facts/heaters.ts";
import { bookOf } from "../../facts/valves/book.ts";
import { finding, listed, netName, netsOf, partsOf, partsOn, relatedPart } from "../frame/index.ts";
import type { Fix, Rule } from "../rule.ts";
import { netsWith, sameNode } from "../shared/nodes.ts";
import { sectionsOfValve } from "../shared/sections.ts";

export const heaterFloating: Rule = {
  id: "valve/heater-floating",
  severity: "warning",
  sentence: "Nothing says what the heaters stand at: no centre tap, no resistors to common, no lift.",
  why:
    "The winding then floats to wherever the insulation of the worst valve leaks it, hums, and may break down heater to cathode; " +
    "and a valve that shorts to its heater puts the HT on it with nothing to blow the fuse.",
  source: "common practice: centre tap, or about 100 Ω from each side, to common or to a lift",
  quiet:
    "Quiet where either side or a tap reaches common through anything that passes dc, on a rectifier whose heater is its " +
    "cathode's, and where the file feeds the heaters with nothing.",
  bad: `amp "Floating heaters"
transformer T1 10VA {
  primary 230V 150R { a b }
  heater  6.3V 1A   { h1 h2 }
}
source B1 250V { plus: HT, minus: gnd }
valve V1 EL84 { plate: HT, screen: HT, grid: g1, cathode: k1, heater: h1 h2 }
g1 -- resistor R2 470k 0.5W -- gnd
k1 -- resistor R3 180R 5W wirewound -- gnd
`,
  good: `amp "Heaters with hum balance"
transformer T1 10VA {
  primary 230V 150R { a b }
  heater  6.3V 1A   { h1 h2 }
}
h1 -- resistor R4 100R 0.5W -- gnd
h2 -- resistor R5 100R 0.5W -- gnd
source B1 250V { plus: HT, minus: gnd }
valve V1 EL84 { plate: HT, screen: HT, grid: g1, cathode: k1, heater: h1 h2 }
g1 -- resistor R2 470k 0.5W -- gnd
k1 -- resistor R3 180R 5W wirewound -- gnd
`,
  leads: [{ rule: "circuit/no-dc-path", sharing: "part", manner: "attach" }],
  *check(context) {
    const { circuit } = context;
    const told = new Set<NetIndex>();
    // Valves on the same two leads conduct to the same.
    const groups = new Map<string, Conducting>();
    for (const valve of partsOf(circuit, "valve")) {
      yield;
      if (!valve.heater || isOwnCathode(circuit, valve)) continue;
      const [a, b] = valve.heater.nets;
      const leads = `${a} ${b}`;
      const group = groups.get(leads) ?? conducting(circuit, [a, b]);
      groups.set(leads, group);
      context.checked(valve.reference);
      if (group.grounded || !group.fed || group.nets.some((net) => told.has(net))) continue;
      for (const net of group.nets) told.add(net);
      const sharing = partsOf(circuit, "valve").filter((other) =>
        other.heater?.nets.some((net) => group.nets.includes(net)),
      );
      yield finding(heaterFloating, {
        message:
          `The heaters of ${listed(sharing.map((other) => other.reference))} float: nothing joins ${netName(circuit, a)} or ` +
          `${netName(circuit, b)} to circuit common. A centre tap to common, or 100 Ω from each side to common, gives them a level.`,
        on: [...sharing.map((other) => other.reference), ...group.nets.map((net) => netName(circuit, net))],
        place: valve.heater.place,
        related: sharing.slice(1, 6).map((other) => relatedPart(other, "on the same heaters")),
        fix: balanced(circuit, valve),
      });
    }
  },
};

/** A rectifier whose heater and cathode are one: the supply gives it its level. */
function isOwnCathode(circuit: Circuit, valve: Valve): boolean {
  const facts = valve.type === undefined ? undefined : bookOf(circuit).find(valve.type);
  const tied = sectionsOfValve(circuit, valve).some(
    (section) =>
      section.cathode !== undefined &&
      valve.heater?.nets.some((net) => sameNode(circuit, section.cathode ?? -1, net)),
  );
  return tied || facts?.heating === "direct" || cathodeOnHeater.types.includes(facts?.type ?? "");
}

interface Conducting {
  readonly nets: readonly NetIndex[];
  readonly grounded: boolean;
  readonly fed: boolean;
}

/** Everything that the nets conduct to at dc, heaters included, and whether common is among it. */
function conducting(circuit: Circuit, from: readonly NetIndex[]): Conducting {
  const seen = new Set<NetIndex>(from.flatMap((net) => [...netsWith(circuit, net)]));
  const metal = [circuit.ground, circuit.chassis];
  let fed = false;
  for (const net of seen) {
    if (metal.includes(net)) return { nets: [...seen], grounded: true, fed: true };
    for (const part of partsOn(circuit, net)) {
      let next: readonly NetIndex[] = [];
      switch (part.kind) {
        case "resistor":
        case "pot":
        case "choke":
        case "thermistor":
        case "diode":
        case "bridge":
        case "zener":
        case "source":
          next = netsOf(part);
          if (part.kind === "source" || part.kind === "bridge" || part.kind === "diode") fed = true;
          break;
        case "lamp":
          next = part.neon ? [] : netsOf(part);
          break;
        case "transformer": {
          const own = part.secondaries.filter((winding) => winding.nets.includes(net));
          if (own.length > 0) fed = true;
          next = own.flatMap((winding) => [...winding.nets]);
          break;
        }
        case "valve":
          if (part.heater?.nets.includes(net)) next = part.heater.nets;
          // A cathode on the heater holds it as well as a resistor would.
          if (part.sections.some((section) => section.electrodes.get("cathode") === net))
            return { nets: [...seen], grounded: true, fed: true };
          break;
      }
      for (const to of next) for (const own of netsWith(circuit, to)) seen.add(own);
    }
  }
  return { nets: [...seen], grounded: false, fed };
}

function balanced(circuit: Circuit, valve: Valve): Fix | undefined {
  if (!valve.heater || circuit.ground === undefined) return undefined;
  const [a, b] = valve.heater.nets.map((net) => netName(circuit, net));
  if ([a, b].some((name) => name.includes("."))) return undefined;
  let number = 1;
  while (circuit.partByReference.has(`R${number}`) || circuit.partByReference.has(`R${number + 1}`)) number++;
  const { file, range } = valve.place;
  return {
    title: "Give the heaters 100 Ω to common from each side",
    edits: [
      {
        place: { file, range: { start: range.end, end: range.end } },
        text:
          `\n${a} -- resistor R${number} 100R 0.5W metal-film -- gnd` +
          `\n${b} -- resistor R${number + 1} 100R 0.5W metal-film -- gnd`,
      },
    ],
  };
}
