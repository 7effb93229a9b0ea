/**
 * Volts of capacitors in series that no resistance shares: what the charge gives, the same through all of a string that was filled
 * from empty. Leakage moves them afterwards; it is not known.
 */
import type { Capacitor } from "../circuit/model.ts";
import type { Topology } from "./topology.ts";

const ROUNDS = 200;

/**
 * @param unknown capacitors whose volts nothing fixes
 * @param nodeVolts of every node, NaN where nothing fixes them
 * @returns volts by reference
 */
export function sharedByCharge(
  unknown: readonly Capacitor[],
  { node }: Topology,
  nodeVolts: Float64Array,
): ReadonlyMap<string, number> {
  const ends = unknown.flatMap((part) => {
    const a = part.terminals.get(part.polarised ? "plus" : "a");
    const b = part.terminals.get(part.polarised ? "minus" : "b");
    return a === undefined || b === undefined ? [] : [{ part, a: node[a], b: node[b] }];
  });
  const volts = new Map<number, number>([[-1, 0]]);
  const loose = new Map<number, { readonly other: number; readonly farads: number }[]>();
  const touch = (at: number, other: number, farads: number): void => {
    if (at >= 0 && Number.isNaN(nodeVolts[at])) {
      const own = loose.get(at);
      if (own) own.push({ other, farads });
      else loose.set(at, [{ other, farads }]);
      volts.set(at, 0);
    } else if (at >= 0) volts.set(at, nodeVolts[at]);
  };
  for (const { part, a, b } of ends) {
    touch(a, b, part.farads.value);
    touch(b, a, part.farads.value);
  }
  for (let round = 0; round < ROUNDS; round++) {
    for (const [at, own] of loose) {
      let charge = 0;
      let farads = 0;
      for (const { other, farads: each } of own) {
        charge += each * (volts.get(other) ?? 0);
        farads += each;
      }
      if (farads > 0) volts.set(at, charge / farads);
    }
  }
  return new Map(ends.map(({ part, a, b }) => [part.reference, (volts.get(a) ?? 0) - (volts.get(b) ?? 0)]));
}
