/**
 * What rests on a winding whose volts, or on a part whose value, is missing or was refused, or on one whose resistance cannot be: the
 * error stands there, and figures computed with that in its place are no figures. They are counted as unchecked instead.
 */
import type { Circuit, Given, NetIndex, Part, Place, Transformer, Winding } from "../../circuit/model.ts";
import { mainsWindings } from "../../physics/mains-windings.ts";
import type { Finding, Margin } from "../rule.ts";
import { copperLosses, isImpossible } from "../shared/copper-loss.ts";
import { partsOn } from "./parts.ts";

export interface Refused {
  /** `T1.ht` */
  readonly key: string;
  readonly place: Place;
  /** True for what a state's figures of these parts say. */
  rests(of: Pick<Finding | Margin, "rule" | "state" | "mains">, on: readonly string[]): boolean;
}

/** @returns undefined where every winding has its volts and every part its value: nearly always */
export function refusedOf(circuit: Circuit): Refused | undefined {
  return windingsRefused(circuit) ?? valuesRefused(circuit);
}

/** Parts that stand without their value: what is told of them, or counts them in, says nothing. */
function valuesRefused(circuit: Circuit): Refused | undefined {
  return partsRefused(circuit) ?? impedanceRefused(circuit);
}

/** What an output stage does into a load that nobody wrote. */
function impedanceRefused(circuit: Circuit): Refused | undefined {
  const first = circuit.parts.find(
    (part) => part.kind === "output-transformer" && part.plates?.ohms.origin === "estimate",
  );
  return (
    first && {
      key: first.reference,
      place: first.referencePlace,
      rests: ({ rule, state }) => state === "drive" && !/^(circuit|earth)\//.test(rule),
    }
  );
}

function partsRefused(circuit: Circuit): Refused | undefined {
  const [first, ...others] = circuit.parts.filter(isValueless);
  if (!first) return undefined;
  const names = new Set([first, ...others].map((part) => part.reference));
  return {
    key: first.reference,
    place: first.referencePlace,
    rests({ rule, state }, on) {
      if (/^(circuit|earth)\//.test(rule)) return false;
      return state !== undefined && on.some((one) => names.has(one));
    },
  };
}

/** True for a part whose value is missing or was refused: what stands in its place is no figure. */
export const isValueless = (part: Part): boolean => mainValue(part)?.origin === "estimate";

/** The value that the part cannot do without. */
function mainValue(part: Part): Given | undefined {
  switch (part.kind) {
    case "resistor":
    case "pot":
    case "thermistor":
    case "speaker":
      return part.ohms;
    case "capacitor":
      return part.farads;
    default:
      return undefined;
  }
}

function windingsRefused(circuit: Circuit): Refused | undefined {
  const impossible = new Set(
    copperLosses(circuit)
      .filter(isImpossible)
      .map(({ winding }) => winding),
  );
  const isBad = (winding: Winding): boolean => winding.refused === true || impossible.has(winding);
  let first: { readonly key: string; readonly place: Place } | undefined;
  const start = new Set<NetIndex>();
  const names = new Set<string>();
  for (const part of circuit.parts) {
    if (part.kind !== "transformer") continue;
    const bad = [part.primary, ...part.secondaries].filter((winding) => winding && isBad(winding));
    if (bad.length === 0) continue;
    const winding = bad[0] as Winding;
    first ??= { key: `${part.reference}.${winding.name}`, place: winding.place };
    names.add(part.reference);
    for (const { nets, name } of restingWindings(circuit, part, isBad)) {
      names.add(`${part.reference}.${name}`);
      for (const net of nets) start.add(net);
    }
  }
  if (!first) return undefined;
  spread(circuit, start, names);
  return {
    ...first,
    rests({ rule, state, mains }, on) {
      if (/^(circuit|earth)\//.test(rule)) return false;
      // What carries the primary's current rests on all that the transformer is loaded with.
      if (rule.startsWith("mains/")) return state !== undefined;
      if (state === undefined && mains === undefined) return false;
      // A heater's volts are counted on its valve.
      const heater = rule === "valve/heater-voltage";
      return on.some((one) => names.has(one) || (heater && names.has(`${one}.heater`)));
    },
  };
}

/** The windings that are refused; with one on the mains, all of them. */
function restingWindings(
  circuit: Circuit,
  part: Transformer,
  isBad: (winding: Winding) => boolean,
): readonly Winding[] {
  const mains = mainsWindings(circuit).get(part) ?? [];
  return part.secondaries.filter((winding) => isBad(winding) || mains.some(isBad));
}

/** Parts, electrodes and nets that hang together with the windings, common and other windings apart. */
function spread(circuit: Circuit, start: Set<NetIndex>, names: Set<string>): void {
  const ends = new Set([circuit.ground, circuit.chassis]);
  for (const net of start) {
    if (ends.has(net)) continue;
    names.add(circuit.nets[net].name);
    for (const part of partsOn(circuit, net)) {
      for (const next of onwards(part, net, names)) start.add(next);
    }
  }
}

function onwards(part: Part, net: NetIndex, names: Set<string>): readonly NetIndex[] {
  if (part.kind === "transformer") return [];
  if (part.kind === "output-transformer") {
    names.add(part.reference);
    return part.plates?.nets.includes(net) ? part.plates.nets : [];
  }
  if (part.kind !== "valve") {
    names.add(part.reference);
    if (part.kind === "switch")
      return part.poles.flatMap((pole) => [
        ...(pole.common === undefined ? [] : [pole.common]),
        ...pole.throws.values(),
      ]);
    return [...part.terminals.values()];
  }
  const found: NetIndex[] = [];
  if (part.heater?.nets.includes(net)) {
    names.add(`${part.reference}.heater`);
    found.push(...part.heater.nets);
  }
  for (const section of part.sections) {
    const nets = [...section.electrodes.values()];
    if (!nets.includes(net)) continue;
    names.add(part.reference);
    found.push(...nets);
  }
  return found;
}
