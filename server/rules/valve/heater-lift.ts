/** What lifts the heaters, where they stand too high above a cathode: a divider, or the half of one. */
import type { Circuit, NetIndex, PartKind, Resistor } from "../../circuit/model.ts";
import { heaterDropper } from "../../facts/heaters.ts";
import type { Solution } from "../../physics/results.ts";
import { ends, listed, netName, partsOn } from "../frame/index.ts";
import { netsWith, sameNode } from "../shared/nodes.ts";

/** A resistor without more of its level's volts than this across it carries nothing. */
const NOTHING = 0.01;

interface Holder {
  readonly resistor: Resistor;
  /** Its ends: at the heaters, and away from them. */
  readonly here: NetIndex;
  readonly there: NetIndex;
}

/** @returns what is to be done about it, in the state that was solved */
export function lowering(circuit: Circuit, heaters: readonly NetIndex[], solution: Solution): string {
  const holders = holdersOf(circuit, heaters);
  if (holders.length === 0) return "Lower what the heaters are lifted to.";
  const idle = holders.every(({ here, there }) => {
    const level = solution.volts[here];
    return Math.abs(solution.volts[there] - level) <= NOTHING * Math.abs(level);
  });
  const names = listed(holders.map(({ resistor }) => resistor.reference));
  if (!idle) return `Lower what ${names} ${holders.length > 1 ? "lift" : "lifts"} the heaters to.`;
  const [{ here, there }] = holders;
  return (
    `${names} ${holders.length > 1 ? "lift" : "lifts"} them to all of ${netName(circuit, there)}, as nothing leads from ${netName(circuit, here)} to ` +
    "common: a divider's lower resistor is missing there."
  );
}

/** What may hang on heaters and holds them nowhere. */
const loose: ReadonlySet<PartKind> = new Set([
  "capacitor",
  "lamp",
  "wire",
  "switch",
  "fuse",
  "terminal-strip",
]);

/**
 * Resistors that tie the heaters to a level: all that leads away from them, their winding and what balances its hum. None where
 * something else holds them: a supply that they are joined to, a cathode.
 */
function holdersOf(circuit: Circuit, heaters: readonly NetIndex[]): readonly Holder[] {
  const own = new Set<NetIndex>(heaters.flatMap((net) => netsWith(circuit, net)));
  const holders = new Map<string, Holder>();
  const join = (nets: readonly NetIndex[]) => {
    for (const net of nets) for (const one of netsWith(circuit, net)) own.add(one);
  };
  // It grows while it is gone through.
  for (const net of own) {
    if (net === circuit.ground) return [];
    for (const part of partsOn(circuit, net)) {
      if (part.kind === "transformer") {
        for (const { nets } of part.secondaries) if (nets.includes(net)) join(nets);
      } else if (part.kind === "pot") {
        if (part.ohms.value <= heaterDropper.mostOhms) join([...part.terminals.values()]);
      } else if (part.kind === "resistor") {
        const [a, b] = ends(part) ?? [];
        const other = sameNode(circuit, a ?? net, net) ? b : a;
        if (other === undefined) continue;
        const grounded = circuit.ground !== undefined && sameNode(circuit, other, circuit.ground);
        if (part.ohms.value <= heaterDropper.mostOhms && !grounded) join([other]);
        else holders.set(part.reference, { resistor: part, here: net, there: other });
      } else if (part.kind === "valve") {
        if (part.sections.some(({ electrodes }) => [...electrodes.values()].includes(net))) return [];
      } else if (!loose.has(part.kind)) return [];
    }
  }
  return [...holders.values()].filter(({ there }) => !own.has(there));
}
