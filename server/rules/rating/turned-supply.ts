/** Whether a reversed capacitor is what is the wrong way round, or the diode that feeds it: told by what else hangs on the supply. */
import type { Capacitor, Circuit, NetIndex, Part } from "../../circuit/model.ts";
import { reverse } from "../../facts/passives.ts";
import type { Solution } from "../../physics/results.ts";
import { partsOf } from "../frame/index.ts";
import { networkOf } from "../shared/network.ts";
import { amplifying } from "../shared/sections.ts";

export interface Verdict {
  /** The supply has the polarity that its valves ask for: the capacitor it is. Undefined where nothing tells. */
  readonly supply: "right" | "wrong" | undefined;
  /** A diode or bridge that drives the capacitors backwards as it stands; only where the supply is wrong. */
  readonly diode?: Part;
}

/**
 * @param parts capacitors that stand reversed on one supply
 * @param nodes all that resistance joins to them, common left out
 */
export function verdictOn(
  circuit: Circuit,
  idle: Solution | undefined,
  parts: readonly Capacitor[],
  nodes: ReadonlySet<number>,
): Verdict {
  if (!idle?.solved) return { supply: undefined };
  const supply = polarity(circuit, idle, parts, nodes);
  return supply === "wrong" ? { supply, diode: driver(circuit, parts) } : { supply };
}

function polarity(
  circuit: Circuit,
  idle: Solution,
  parts: readonly Capacitor[],
  nodes: ReadonlySet<number>,
): Verdict["supply"] {
  const network = networkOf(circuit);
  const common = circuit.ground === undefined ? -1 : network.nodeOf(circuit.ground);
  const here = (net: NetIndex | undefined): net is NetIndex =>
    net !== undefined && nodes.has(network.nodeOf(net)) && network.nodeOf(net) !== common;
  const volts: number[] = [];
  // A plate asks for a supply above common, and a grid on a supply for one below it.
  for (const { plate, screen, grid } of amplifying(circuit)) {
    for (const net of [plate, screen]) if (here(net)) volts.push(idle.volts[net]);
    if (here(grid) && !here(plate)) volts.push(-idle.volts[grid]);
  }
  const told = volts.filter((one) => !Number.isNaN(one));
  if (told.length === 0) return undefined;
  if (told.some((one) => one > reverse.volts)) return "right";
  return told.every((one) => one <= reverse.volts) && parts.length > 0 ? "wrong" : undefined;
}

/** Of the diodes on their ends, one that takes current out of a plus or brings it to a minus. */
function driver(circuit: Circuit, parts: readonly Capacitor[]): Part | undefined {
  const network = networkOf(circuit);
  const common = circuit.ground === undefined ? -1 : network.nodeOf(circuit.ground);
  const near = (terminal: string): ReadonlySet<number> =>
    new Set(
      parts.flatMap((part) => {
        const net = part.terminals.get(terminal);
        if (net === undefined || network.nodeOf(net) === common) return [];
        return [...network.reachedFrom(net)].filter((node) => node !== common);
      }),
    );
  // Right at its ends first: behind resistance stand other diodes of the same supply.
  const at = (terminal: string): ReadonlySet<number> =>
    new Set(
      parts.flatMap((part) => {
        const net = part.terminals.get(terminal);
        const node = net === undefined ? common : network.nodeOf(net);
        return node === common ? [] : [node];
      }),
    );
  for (const nodesOf of [at, near]) {
    const [plus, minus] = [nodesOf("plus"), nodesOf("minus")];
    const on = (part: Part, name: string, nodes: ReadonlySet<number>) => {
      const net = part.terminals.get(name);
      return net !== undefined && nodes.has(network.nodeOf(net));
    };
    const found = partsOf(circuit, "diode", "bridge").find((part) =>
      part.kind === "bridge"
        ? on(part, "minus", plus) || on(part, "plus", minus)
        : on(part, "anode", plus) || on(part, "cathode", minus),
    );
    if (found) return found;
  }
  return undefined;
}
