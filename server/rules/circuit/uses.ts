/** How often each net is used by a part's terminals: what a slip of the pen leaves behind is used once. */

import { KeptWith } from "../../circuit/kept-with.ts";
import type { Circuit, NetIndex, Part } from "../../circuit/model.ts";

export interface Use {
  readonly part: Part;
  /** `grid`, `ht`, `active`: the terminal or winding. */
  readonly terminal: string;
  /** For windings: every net of the row. */
  readonly winding?: readonly NetIndex[];
}

const built = new KeptWith<Circuit, ReadonlyMap<NetIndex, readonly Use[]>>();

/** Every terminal that sits on each net. Built once per circuit. */
export function usesOf(circuit: Circuit): ReadonlyMap<NetIndex, readonly Use[]> {
  const known = built.get(circuit);
  if (known) return known;
  const uses = new Map<NetIndex, Use[]>();
  const add = (net: NetIndex | undefined, use: Use) => {
    if (net === undefined) return;
    const list = uses.get(net);
    if (list) list.push(use);
    else uses.set(net, [use]);
  };
  for (const part of circuit.parts) {
    switch (part.kind) {
      case "valve":
        for (const section of part.sections) {
          for (const [terminal, net] of section.electrodes) add(net, { part, terminal });
        }
        for (const net of part.heater?.nets ?? []) add(net, { part, terminal: "heater" });
        break;
      case "transformer":
        for (const winding of [part.primary, ...part.secondaries]) {
          for (const net of winding?.nets ?? [])
            add(net, { part, terminal: winding?.name ?? "", winding: winding?.nets });
        }
        break;
      case "output-transformer":
        for (const net of part.plates?.nets ?? [])
          add(net, { part, terminal: "plates", winding: part.plates?.nets });
        for (const net of part.speaker?.nets ?? []) {
          add(net, { part, terminal: "speaker", winding: part.speaker?.nets });
        }
        break;
      case "cord":
      case "inlet":
        for (const [terminal, lead] of part.leads) add(lead.net, { part, terminal });
        break;
      case "switch":
        for (const pole of part.poles) {
          add(pole.common, { part, terminal: "common" });
          for (const [terminal, net] of pole.throws) add(net, { part, terminal });
        }
        break;
      default:
        for (const [terminal, net] of part.terminals) add(net, { part, terminal });
    }
  }
  built.set(circuit, uses);
  return uses;
}
