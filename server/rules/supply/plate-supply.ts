/** The supply net behind a stage's plate load. */
import type { Circuit, NetIndex, Part } from "../../circuit/model.ts";
import { ends, partsOn } from "../frame/index.ts";
import { netsWith } from "../shared/nodes.ts";
import type { Section } from "../shared/sections.ts";

export interface PlateSupply {
  readonly net: NetIndex;
  readonly part?: Part;
}

/** The far end of the plate's load resistor that a reservoir holds, or the plate's own net where it hangs on one. */
export function supplyOf(circuit: Circuit, section: Section): PlateSupply | undefined {
  const { plate } = section;
  if (plate === undefined) return undefined;
  const nets = netsWith(circuit, plate);
  const isHeld = (net: NetIndex) =>
    netsWith(circuit, net).some((own) =>
      partsOn(circuit, own).some((part) => part.kind === "capacitor" && part.farads.value > 0.47e-6),
    );
  if (isHeld(plate)) return { net: plate };
  const loads = nets
    .flatMap((net) => partsOn(circuit, net))
    .filter((part) => part.kind === "resistor" || part.kind === "choke");
  for (const part of loads) {
    const far = (ends(part) ?? []).find((end) => !nets.includes(end));
    if (far !== undefined && isHeld(far) && far !== circuit.ground) return { net: far, part };
  }
  const [part] = loads;
  const far = part && (ends(part) ?? []).find((end) => !nets.includes(end));
  return far === undefined || far === circuit.ground ? undefined : { net: far, part };
}
