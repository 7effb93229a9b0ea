/** Which end of an output transformer's winding the supply comes to. */
import type { Circuit, NetIndex, OutputTransformer, Part } from "../../circuit/model.ts";
import { partsOn } from "../frame/index.ts";
import { netsWith } from "../shared/nodes.ts";
import { amplifying } from "../shared/sections.ts";

const FEEDS = new Set<Part["kind"]>([
  "resistor",
  "choke",
  "switch",
  "source",
  "diode",
  "bridge",
  "fuse",
  "thermistor",
]);

/** True where direct current can come to a net from elsewhere than the winding. */
export function isFed(circuit: Circuit, net: NetIndex): boolean {
  return netsWith(circuit, net).some((own) =>
    partsOn(circuit, own).some(
      (part) =>
        FEEDS.has(part.kind) ||
        (part.kind === "capacitor" && part.polarised) ||
        (part.kind === "valve" && part.sections.some((section) => section.electrodes.get("cathode") === own)),
    ),
  );
}

/** A single-ended winding whose plate stands where its supply is written: nothing of the stage can be looked at so. */
export function isBackwards(circuit: Circuit, { plates }: OutputTransformer): boolean {
  if (plates?.nets.length !== 2) return false;
  const [first, second] = plates.nets;
  const [there, here] = [netsWith(circuit, first), netsWith(circuit, second)];
  const on = (nets: readonly NetIndex[]) =>
    amplifying(circuit).some(({ plate }) => plate !== undefined && nets.includes(plate));
  return on(here) && !on(there) && isFed(circuit, first) && !isFed(circuit, second);
}
