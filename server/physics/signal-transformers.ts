/**
 * Transformers that carry the signal: one between two stages, or a reverb's, written as `transformer` with a primary. They are
 * no supply's: to direct current their windings are resistances, and no volts of one come to another.
 */
import { KeptWith } from "../circuit/kept-with.ts";
import type { Circuit, NetIndex, Transformer } from "../circuit/model.ts";
import { bookOf } from "../facts/valves/book.ts";
import { joinedNets } from "./mains-windings.ts";

const kept = new KeptWith<Circuit, ReadonlySet<Transformer>>();

/**
 * True where the plate or the grid of an amplifying valve hangs on a winding itself, no heater and no rectifying valve does, and the
 * primary is on no way of the mains, whatever position any switch is in. Where the file has no cord to tell the mains by, the
 * plate or a jack must be on the primary.
 */
export function carriesSignal(circuit: Circuit, transformer: Transformer): boolean {
  let found = kept.get(circuit);
  if (!found) {
    found = find(circuit);
    kept.set(circuit, found);
  }
  return found.has(transformer);
}

function find(circuit: Circuit): ReadonlySet<Transformer> {
  const found = new Set<Transformer>();
  const transformers = circuit.parts.filter(
    (part): part is Transformer => part.kind === "transformer" && part.primary !== undefined,
  );
  if (transformers.length === 0) return found;
  const { plates, grids, jacks, supplied } = usesOf(circuit);
  const hasMains = circuit.parts.some(({ kind }) => kind === "cord" || kind === "inlet");
  const on = transformers.filter(({ primary, secondaries }) => {
    const first = primary?.nets ?? [];
    const nets = [...first, ...secondaries.flatMap((winding) => winding.nets)];
    if (nets.some((net) => supplied.has(net))) return false;
    if (!hasMains && !first.some((net) => plates.has(net) || jacks.has(net))) return false;
    return nets.some((net) => plates.has(net) || grids.has(net));
  });
  if (on.length === 0) return found;
  const joined = joinedNets(circuit);
  const live = new Set<number>();
  for (const part of circuit.parts) {
    if (part.kind !== "cord" && part.kind !== "inlet") continue;
    for (const lead of ["active", "neutral"] as const) {
      const net = part.leads.get(lead)?.net;
      if (net !== undefined) live.add(joined[net]);
    }
  }
  // What common joins is no mains, even where the neutral has been tied to it.
  for (const net of [circuit.ground, circuit.chassis]) if (net !== undefined) live.delete(joined[net]);
  for (const part of on) if (!part.primary?.nets.some((net) => live.has(joined[net]))) found.add(part);
  return found;
}

type Nets = ReadonlySet<NetIndex>;

/** Nets but common: of plates and grids of valves that amplify, of jacks, and of heaters and rectifying valves. */
function usesOf(circuit: Circuit): Readonly<Record<"plates" | "grids" | "jacks" | "supplied", Nets>> {
  const book = bookOf(circuit);
  const [plates, grids, jacks, supplied] = Array.from({ length: 4 }, () => new Set<NetIndex>());
  for (const part of circuit.parts) {
    if (part.kind === "jack") for (const net of part.terminals.values()) jacks.add(net);
    if (part.kind !== "valve") continue;
    for (const net of part.heater?.nets ?? []) supplied.add(net);
    const facts = part.type === undefined ? undefined : book.find(part.type);
    for (const { electrodes } of part.sections) {
      const plate = electrodes.get("plate");
      const grid = electrodes.get("grid");
      // Strapped as a diode, it rectifies as well.
      if (facts?.kind === "rectifier" || grid === undefined || grid === plate) {
        // What it feeds may feed a primary too: it is the plates that hang on a supply's winding.
        for (const [name, net] of electrodes) if (name.startsWith("plate")) supplied.add(net);
        continue;
      }
      grids.add(grid);
      if (plate !== undefined) plates.add(plate);
    }
  }
  if (circuit.ground !== undefined)
    for (const nets of [plates, grids, jacks, supplied]) nets.delete(circuit.ground);
  return { plates, grids, jacks, supplied };
}
