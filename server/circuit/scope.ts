/** Where a statement stands: its file, the prefix of the used block that it belongs to, and what was passed in. */
import type { Word } from "../../grammar/tree.ts";

export interface Argument {
  readonly word: Word;
  /** Where the argument was written. */
  readonly scope: Scope;
  /** True: the block uses it as a part or section (`valve v { … }`), not as a net. */
  readonly isReference: boolean;
}

export interface Scope {
  readonly file: string;
  /** Empty at the top, `N.` in a block used as N, `N.M.` one further in. */
  readonly prefix: string;
  readonly passed?: ReadonlyMap<string, Argument>;
}

/** Nets that every block shares. */
export const sharedNets: ReadonlySet<string> = new Set(["gnd", "chassis"]);

/** A reference as the circuit keeps it, split where what was written last begins: `N.` and `V1.a`. */
export interface FullReference {
  readonly prefix: string;
  readonly text: string;
}

/** Follows a block's parameters out to the part that they stand for. */
export function fullReference(text: string, scope: Scope): FullReference {
  let here = scope;
  let name = text;
  // Each round leaves one block, and blocks end.
  for (;;) {
    if (!here.passed) return { prefix: here.prefix, text: name };
    const dot = name.indexOf(".");
    const first = dot < 0 ? name : name.slice(0, dot);
    const argument = here.passed.get(first);
    if (!argument) return { prefix: here.prefix, text: name };
    name = argument.word.text + (dot < 0 ? "" : name.slice(dot));
    here = argument.scope;
  }
}
