/** Where a direct current gets to from a net, with one switch moved or a plug in one jack: followed net by net, and never far. */
import type { Circuit, Jack, NetIndex, Part, Switch } from "../../circuit/model.ts";
import { switchPosition } from "../../physics/states.ts";
import { partsOn } from "../frame/index.ts";
import { heldNets } from "./network.ts";

/** One contact moved: a switch in another position, or a plug in a jack. Everything else is as at idle. */
export type Moved =
  | { readonly part: Switch; readonly position: string }
  | { readonly part: Jack; readonly position?: undefined };

export interface Walk {
  /** True where it came to a net that holds its volts. */
  readonly held: boolean;
  /** The nets come to. */
  readonly nets: ReadonlySet<NetIndex>;
  /** Switches and jacks whose contacts were passed, or stood open on the way. */
  readonly contacts: ReadonlySet<Switch | Jack>;
}

/** @param how `none`: no contact of any switch or jack is passed; `idle`: as they stand; else with one of them moved */
export function walk(circuit: Circuit, from: NetIndex, how: "none" | "idle" | Moved): Walk {
  const holds = heldNets(circuit);
  const nets = new Set<NetIndex>([from]);
  const contacts = new Set<Switch | Jack>();
  for (const net of nets) {
    if (holds.has(net)) return { held: true, nets, contacts };
    for (const part of partsOn(circuit, net)) {
      if (part.kind === "switch" || part.kind === "jack") {
        contacts.add(part);
        if (how !== "none") for (const to of closed(circuit, part, net, how)) nets.add(to);
      } else for (const to of joined(part, net)) nets.add(to);
    }
  }
  return { held: false, nets, contacts };
}

/** What a switch or a jack joins to a net. */
function closed(circuit: Circuit, part: Switch | Jack, net: NetIndex, how: "idle" | Moved): NetIndex[] {
  const moved = how !== "idle" && how.part === part ? how : undefined;
  const pairs: (readonly [NetIndex | undefined, NetIndex | undefined])[] = [];
  if (part.kind === "switch") {
    const position = moved?.position ?? switchPosition(circuit, part, "idle");
    for (const pole of part.poles) pairs.push([pole.common, pole.throws.get(position)]);
  } else {
    const at = (terminal: string) => part.terminals.get(terminal);
    if (!moved)
      for (const contact of ["tip", "ring", "sleeve"]) pairs.push([at(contact), at(`${contact}-break`)]);
    if (!part.insulated) pairs.push([at("sleeve"), circuit.chassis]);
  }
  return pairs.flatMap(([a, b]) =>
    a === undefined || b === undefined ? [] : a === net ? [b] : b === net ? [a] : [],
  );
}

/** What any other part joins to a net for direct current; a winding by itself, and nothing through a valve. */
function joined(part: Part, net: NetIndex): Iterable<NetIndex> {
  const rows = (...windings: readonly ({ readonly nets: readonly NetIndex[] } | undefined)[]) =>
    windings.flatMap((winding) => (winding?.nets.includes(net) ? winding.nets : []));
  switch (part.kind) {
    case "wire":
    case "bond":
    case "fuse":
    case "resistor":
    case "pot":
    case "choke":
    case "thermistor":
    case "speaker":
      return part.terminals.values();
    case "transformer":
      return rows(part.primary, ...part.secondaries);
    case "output-transformer":
      return rows(part.plates, part.speaker);
    default:
      return [];
  }
}
