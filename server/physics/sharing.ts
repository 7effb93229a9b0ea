/**
 * Volts of capacitors in series that no resistance shares: what the charge gives, the same through all of a string that was filled
 * from empty. Leakage moves them afterwards; it is not known.
 */
import type { Capacitor } from "../circuit/model.ts";
import { solveDense } from "./linear/dense.ts";
import { doubles } from "./linear/slabs.ts";
import type { Topology } from "./topology.ts";

/** Of a node's own capacitance: a string that reaches nothing stands at common, and makes nothing singular. */
const LEAST_SHARE = 1e-12;

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
  const loose = new Map<number, number>();
  for (const at of ends.flatMap(({ a, b }) => [a, b]))
    if (at >= 0 && Number.isNaN(nodeVolts[at]) && !loose.has(at)) loose.set(at, loose.size);
  const size = loose.size;
  // No charge comes to a loose node: C (v - v of the other end), summed over what is on it, is nothing.
  const matrix = doubles(size * size);
  const own = doubles(size);
  const fixed = (at: number): number => (at < 0 ? 0 : nodeVolts[at]);
  const put = (at: number, other: number, farads: number): void => {
    const row = loose.get(at);
    if (row === undefined) return;
    const column = loose.get(other);
    matrix[row * (size + 1)] += farads * (1 + LEAST_SHARE);
    if (column === undefined) own[row] += farads * fixed(other);
    else matrix[row * size + column] -= farads;
  };
  for (const { part, a, b } of ends) {
    put(a, b, part.farads.value);
    put(b, a, part.farads.value);
  }
  solveDense(matrix, own, size);
  const volts = (at: number): number => {
    const row = loose.get(at);
    return row === undefined ? fixed(at) : own[row];
  };
  return new Map(ends.map(({ part, a, b }) => [part.reference, volts(a) - volts(b)]));
}
