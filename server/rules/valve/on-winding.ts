/** Which electrode is on an end of an output transformer's plate winding. */
import type { Circuit, NetIndex } from "../../circuit/model.ts";
import { plateStopper } from "../../facts/practice.ts";
import { partsOn } from "../frame/index.ts";
import { netsWith, sameNode } from "../shared/nodes.ts";
import { behind } from "./output.ts";

/** On the net itself, or behind one stopper: further on it would be a supply that the net comes from. */
export function isOn(circuit: Circuit, end: NetIndex, net: NetIndex): boolean {
  if (sameNode(circuit, end, net)) return true;
  return netsWith(circuit, net).some((own) =>
    partsOn(circuit, own).some(
      (part) =>
        part.kind === "resistor" &&
        part.ohms.value <= plateStopper.mostOhms &&
        [...part.terminals.values()].some((far) => sameNode(circuit, end, far)),
    ),
  );
}

/** Through stoppers, and however the wires name it. */
export function reaches(circuit: Circuit, end: NetIndex, net: NetIndex): boolean {
  const nets = behind(circuit, end);
  return netsWith(circuit, net).some((own) => nets.has(own));
}
