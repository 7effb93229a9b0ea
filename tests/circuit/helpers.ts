/** Texts to circuits, with short ways to look into them. */
import { parse } from "../../grammar/parse.ts";
import { buildCircuit } from "../../server/circuit/build.ts";
import type { Circuit, CircuitProblem, CordOrInlet, Part, PartKind } from "../../server/circuit/model.ts";

export const MAIN = "amp.ampnet";

/** The circuit of a text; `files` are those that it may include, by key. */
export function circuitOf(text: string, files: Readonly<Record<string, string>> = {}, main = MAIN): Circuit {
  return buildCircuit(main, text, parse(text), (file) => files[file]).circuit;
}

/** A cord and an inlet share a type whose `kind` is either. */
type PartOfKind<K extends PartKind> = K extends "cord" | "inlet" ? CordOrInlet : Extract<Part, { kind: K }>;

export function partOf<K extends PartKind>(circuit: Circuit, kind: K, reference: string): PartOfKind<K> {
  const part = circuit.partByReference.get(reference);
  if (part?.kind !== kind) throw new Error(`${reference} is ${part?.kind ?? "not there"}, not a ${kind}`);
  return part as unknown as PartOfKind<K>;
}

/** Names of the nets of a part's terminals, by terminal. */
export function wiring(circuit: Circuit, reference: string): Record<string, string> {
  const part = circuit.partByReference.get(reference);
  return Object.fromEntries(
    [...(part?.terminals ?? [])].map(([terminal, net]) => [terminal, circuit.nets[net].name]),
  );
}

/** `rule: written text` of each problem. */
export function told(text: string, problems: readonly CircuitProblem[]): string[] {
  return problems.map(({ rule, place }) => `${rule}: ${text.slice(place.range.start, place.range.end)}`);
}

/** Builds and gives what was told, as `rule: written text`. */
export function tellings(text: string, files?: Readonly<Record<string, string>>): string[] {
  return told(text, circuitOf(text, files).problems);
}

export function netNames(circuit: Circuit): string[] {
  return circuit.nets.map((net) => net.name);
}

/** How often a net is named. */
export function mentions(circuit: Circuit, name: string): number {
  const net = circuit.netByName.get(name);
  return net === undefined ? 0 : circuit.nets[net].mentions.length;
}
