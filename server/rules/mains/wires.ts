/** Pieces of wire that carry the mains. */
import type { Wire } from "../../circuit/model.ts";
import { partsOf } from "../frame/index.ts";
import type { MainsSide } from "./graph.ts";

/** Wires with an end on the mains side. */
export function mainsWires(side: MainsSide): Wire[] {
  return partsOf(side.circuit, "wire").filter((wire) =>
    [...wire.terminals.values()].some((net) => side.nets.has(net)),
  );
}
