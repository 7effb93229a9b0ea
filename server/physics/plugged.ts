/** The circuit as it is with a plug in every jack: the break contacts open. */

import { KeptWith } from "../circuit/kept-with.ts";
import type { Circuit, Part } from "../circuit/model.ts";
import { analyse } from "./analyse.ts";
import type { Analysis } from "./results.ts";

const kept = new KeptWith<Circuit, Circuit | undefined>();
const solved = new KeptWith<Circuit, Analysis>();

/** @returns undefined where no jack has a break contact that is wired */
export function pluggedCircuit(circuit: Circuit): Circuit | undefined {
  if (!kept.has(circuit)) kept.set(circuit, build(circuit));
  return kept.get(circuit);
}

/** The same solved; nothing is, until it is asked for. */
export function pluggedAnalysis(plugged: Circuit): Analysis {
  let analysis = solved.get(plugged);
  if (!analysis) {
    analysis = analyse(plugged);
    solved.set(plugged, analysis);
  }
  return analysis;
}

function build(circuit: Circuit): Circuit | undefined {
  let any = false;
  const parts = circuit.parts.map((part): Part => {
    if (part.kind !== "jack") return part;
    const terminals = new Map([...part.terminals].filter(([name]) => !name.endsWith("-break")));
    if (terminals.size === part.terminals.size) return part;
    any = true;
    return { ...part, terminals };
  });
  if (!any) return undefined;
  return { ...circuit, parts, partByReference: new Map(parts.map((part) => [part.reference, part])) };
}
