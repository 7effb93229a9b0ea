/** Which electrode is on an end of an output transformer's plate winding. */
import type { Circuit, NetIndex, OutputTransformer } from "../../circuit/model.ts";
import { plateStopper } from "../../facts/practice.ts";
import { partsOf, partsOn } from "../frame/index.ts";
import { netsWith, sameNode } from "../shared/nodes.ts";
import { isBackwards } from "./fed-ends.ts";
import { behind, drivesGrids, isSingleEnded } from "./output.ts";

export interface PlateWinding {
  readonly transformer: OutputTransformer;
  readonly nets: readonly NetIndex[];
  /** Where plates belong. */
  readonly ends: readonly NetIndex[];
  /** Where the HT comes in. */
  readonly supply: NetIndex;
}

/** The plate windings of transformers that work into loudspeakers; none that is written from its other end. */
export function plateWindings(circuit: Circuit): PlateWinding[] {
  return partsOf(circuit, "output-transformer").flatMap((transformer) => {
    const nets = transformer.plates?.nets ?? [];
    if (nets.length < 2 || drivesGrids(circuit, transformer) || isBackwards(circuit, transformer)) return [];
    const [first, last] = [nets[0], nets[nets.length - 1]];
    return isSingleEnded(transformer)
      ? [{ transformer, nets, ends: [first], supply: last }]
      : [{ transformer, nets, ends: [first, last], supply: nets[(nets.length - 1) / 2] }];
  });
}

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
