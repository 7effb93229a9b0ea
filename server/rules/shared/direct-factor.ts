import type { Circuit, Winding } from "../../circuit/model.ts";
import { windingFactor } from "../../facts/supply.ts";
import { partsOn } from "../frame/parts.ts";
import { netsWith } from "./nodes.ts";

/** rms amperes of a winding for one of direct current, by what it feeds. */
export function directFactor(circuit: Circuit, winding: Winding): number {
  if (winding.nets.length > 2) return windingFactor.centreTapped.value;
  const bridges = winding.nets.filter((net) =>
    netsWith(circuit, net).some((own) => partsOn(circuit, own).some((part) => part.kind === "bridge")),
  ).length;
  const diodes = winding.nets.map(
    (net) =>
      netsWith(circuit, net)
        .flatMap((own) => partsOn(circuit, own))
        .filter((part) => part.kind === "diode").length,
  );
  if (bridges === 2 || diodes.every((count) => count >= 2)) return windingFactor.bridge.value;
  if (diodes.some((count) => count >= 2)) return windingFactor.doubler.value;
  return windingFactor.halfWave.value;
}
