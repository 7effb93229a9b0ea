/** Which mains conductor a net belongs to, and the capacitors between them and to the metal. */
import type { Capacitor, NetIndex } from "../../circuit/model.ts";
import { partsOf } from "../frame/index.ts";
import { type MainsSide, reach } from "./graph.ts";

export type Bridge = "to-metal" | "across" | undefined;

/** Where a capacitor sits: from the mains side to metal or common, or between two nets of the mains side. */
export function bridges(side: MainsSide, capacitor: Capacitor): Bridge {
  const nets = [...capacitor.terminals.values()];
  if (nets.length !== 2 || nets[0] === nets[1]) return undefined;
  const live = nets.filter((net) => side.nets.has(net)).length;
  const metal = nets.filter((net) => isMetal(side, net)).length;
  if (live === 2) return "across";
  return live === 1 && metal === 1 ? "to-metal" : undefined;
}

export function isMetal(side: MainsSide, net: NetIndex): boolean {
  return side.earthy.has(net);
}

export function mainsCapacitors(
  side: MainsSide,
): readonly { capacitor: Capacitor; bridge: Exclude<Bridge, undefined> }[] {
  return partsOf(side.circuit, "capacitor").flatMap((capacitor) => {
    const bridge = bridges(side, capacitor);
    return bridge ? [{ capacitor, bridge }] : [];
  });
}

/** True where the mains side runs into the metal: what the capacitors bridge then cannot be told apart. */
export function isCrossed(side: MainsSide): boolean {
  return [side.active, side.neutral].some((from) =>
    [...reach(side, from).keys()].some((net) => isMetal(side, net)),
  );
}
