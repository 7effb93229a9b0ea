import { reservoirFarads } from "../../facts/supply.ts";
import { type Multiport, reduce } from "./multiport.ts";
import type { IslandNetwork } from "./network.ts";

/**
 * A network as a rectifier finds it when switched on: empty reservoirs. What only couples (a bias capacitor off the winding) is full
 * long before the crest, and lets nothing pass.
 */
export function reservoirsAlone({ network, multiport }: IslandNetwork): Multiport {
  const { capacitors, branches } = network;
  const large = capacitors.filter(({ farads }) => Math.abs(farads) >= reservoirFarads);
  if (large.length === capacitors.length) return multiport;
  const open = capacitors.filter((one) => !large.includes(one)).map(({ a, b }) => ({ a, b, siemens: 1e-9 }));
  return reduce({ ...network, capacitors: large, branches: [...branches, ...open] });
}
