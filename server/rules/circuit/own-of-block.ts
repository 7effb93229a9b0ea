/** Nets that a block has for itself, while the amplifier around it has one of the same name that was meant. */
import type { Circuit, NetIndex } from "../../circuit/model.ts";
import { listed } from "../frame/index.ts";

export interface PassIn {
  /** The first such net. */
  readonly net: NetIndex;
  /** What to do about it. */
  readonly todo: string;
}

/**
 * @returns for a finding on these nets; undefined where none of them has a namesake outside: a block's
 *   nets are its own, save those passed in, and `gnd` and `chassis`
 */
export function passIn(circuit: Circuit, nets: readonly NetIndex[]): PassIn | undefined {
  const own = new Map<string, string>();
  let first: NetIndex | undefined;
  for (const net of nets) {
    const { name } = circuit.nets[net];
    const outside = namesake(circuit, name);
    if (outside === undefined) continue;
    own.set(name, outside);
    first ??= net;
  }
  if (first === undefined) return undefined;
  const names = listed([...new Set(own.values())]);
  const [are, them] = own.size > 1 ? ["are nets", "them"] : ["is a net", "it"];
  const todo =
    `${listed([...own.keys()])} ${are} of the block's own, and not the ${names} outside: to join ${them}, write ${names} among ` +
    "the nets that the block is given, where it is made and where it is used.";
  return { net: first, todo };
}

/** `L.h1` -> `h1`, where the amplifier has such a net, or the block around this one. */
function namesake(circuit: Circuit, name: string): string | undefined {
  const steps = name.split(".");
  const own = steps.pop() as string;
  for (let outer = steps.length - 1; outer >= 0; outer--) {
    const outside = [...steps.slice(0, outer), own].join(".");
    if (circuit.netByName.has(outside)) return outside;
  }
  return undefined;
}
