/** A fuse's value as the language writes it, and the fix that writes it. */
import type { Fuse } from "../../circuit/model.ts";
import { figure } from "../frame/index.ts";
import type { Fix } from "../rule.ts";

/** `T500mA`, `T1.6A`. */
export function written(fuse: Pick<Fuse, "character">, amps: number): string {
  const value = amps < 1 ? `${figure(amps * 1000)}mA` : `${figure(amps)}A`;
  const letter = fuse.character === "F" || fuse.character === "FF" ? "T" : (fuse.character ?? "T");
  return `${letter}${value}`;
}

export function rewritten(fuse: Fuse, amps: number): Fix | undefined {
  const place = fuse.factPlaces.get("amps");
  return (
    place && {
      title: `Make ${fuse.reference} ${written(fuse, amps)}`,
      edits: [{ place, text: written(fuse, amps) }],
    }
  );
}
