/** Fixes that add a part: a statement of its own, right behind the file's first. */
import type { Circuit } from "../../circuit/model.ts";
import type { Fix } from "../rule.ts";

/** An edit that puts a statement behind the amplifier's name, or at the top of a file without one. */
export function newStatement(circuit: Circuit, statement: string): Fix["edits"][number] {
  const { ampPlace } = circuit;
  if (!ampPlace) {
    return { place: { file: circuit.files[0] ?? "", range: { start: 0, end: 0 } }, text: `${statement}\n` };
  }
  const { end } = ampPlace.range;
  return { place: { file: ampPlace.file, range: { start: end, end } }, text: `\n${statement}` };
}

/** The first free reference with a letter: `R1`, `R2`… past the highest in use. */
export function freeReference(circuit: Circuit, letter: string): string {
  let most = 0;
  for (const reference of circuit.partByReference.keys()) {
    const number = reference.startsWith(letter) ? Number(reference.slice(letter.length)) : Number.NaN;
    if (Number.isInteger(number)) most = Math.max(most, number);
  }
  return `${letter}${most + 1}`;
}
