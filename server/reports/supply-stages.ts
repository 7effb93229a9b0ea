/** Which nets make up a supply: where a rectifier's current arrives, and where it is smoothed further on. */
import type { Circuit, NetIndex, Part } from "../circuit/model.ts";

export interface SupplyStage {
  readonly net: NetIndex;
  /** What leads to it, in order: a rectifier to the first, droppers and chokes to the rest. */
  readonly through: readonly Part[];
  readonly next: readonly SupplyStage[];
}

/** What a supply's current passes on its way: it has two terminals, and it conducts. */
const LEADS_ON: ReadonlySet<Part["kind"]> = new Set([
  "resistor",
  "choke",
  "fuse",
  "thermistor",
  "diode",
  "lamp",
  "wire",
  "switch",
]);

/** Each rectifier's chain as a tree. A net stands once, where it is reached first. */
export function supplyStages(circuit: Circuit): readonly SupplyStage[] {
  const electrodes = new Set(
    circuit.parts.filter(({ kind }) => kind === "valve").flatMap((part) => [...part.terminals.values()]),
  );
  const heads = headsOf(circuit);
  const seen = new Set<NetIndex>(heads.keys());
  if (circuit.ground !== undefined) seen.add(circuit.ground);

  /** Nets with a reservoir that parts lead to from here, through nets that have none. */
  const onward = (net: NetIndex, through: readonly Part[]): SupplyStage[] => {
    const found: SupplyStage[] = [];
    for (const part of circuit.parts) {
      if (!LEADS_ON.has(part.kind) || through.includes(part)) continue;
      const [one, other, ...more] = [...part.terminals.values()];
      if (more.length > 0) continue;
      const next = one === net ? other : other === net ? one : undefined;
      if (next === undefined || seen.has(next)) continue;
      if (hasReservoir(circuit, next)) {
        seen.add(next);
        found.push(stage(next, [...through, part]));
        // A valve's own electrode is where a supply ends, not a way on.
      } else if (!electrodes.has(next)) {
        seen.add(next);
        found.push(...onward(next, [...through, part]));
      }
    }
    return found;
  };
  const stage = (net: NetIndex, through: readonly Part[]): SupplyStage => ({
    net,
    through,
    next: onward(net, []),
  });
  return [...heads].flatMap(([net, rectifiers]) =>
    // Without a reservoir of its own it is only on the way to the first that has one.
    hasReservoir(circuit, net) ? [stage(net, [...rectifiers])] : onward(net, [...rectifiers]),
  );
}

/** Where a rectifier's output stands, with what feeds it: of a diode the end that has the reservoir. */
function headsOf(circuit: Circuit): Map<NetIndex, Set<Part>> {
  const found = new Map<NetIndex, Set<Part>>();
  const add = (net: NetIndex | undefined, part: Part) => {
    if (net === undefined || net === circuit.ground) return;
    found.set(net, (found.get(net) ?? new Set()).add(part));
  };
  for (const part of circuit.parts) {
    if (part.kind === "bridge") {
      add(part.terminals.get("plus"), part);
      add(part.terminals.get("minus"), part);
    } else if (part.kind === "diode") {
      const anode = part.terminals.get("anode");
      const cathode = part.terminals.get("cathode");
      if (cathode !== undefined && polesOn(circuit, cathode).has("plus")) add(cathode, part);
      else if (anode !== undefined && polesOn(circuit, anode).has("minus")) add(anode, part);
    } else if (part.kind === "source") add(part.terminals.get("plus"), part);
    else if (part.kind === "valve" && part.sections.some(({ electrodes }) => electrodes.has("plate1"))) {
      for (const { electrodes } of part.sections) add(electrodes.get("cathode"), part);
    }
  }
  return found;
}

/** Ends of electrolytics on a net. */
function polesOn(circuit: Circuit, net: NetIndex): ReadonlySet<string> {
  const found = new Set<string>();
  for (const part of circuit.parts) {
    if (part.kind !== "capacitor" || !part.polarised) continue;
    for (const [terminal, on] of part.terminals) if (on === net) found.add(terminal);
  }
  return found;
}

/** Where a plus and a minus meet, two stand in series. */
export function isMiddle(circuit: Circuit, net: NetIndex): boolean {
  return polesOn(circuit, net).size === 2;
}

/** The middle of a stack is no stage. */
function hasReservoir(circuit: Circuit, net: NetIndex): boolean {
  return polesOn(circuit, net).size === 1;
}
