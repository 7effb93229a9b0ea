/** The order of findings: by file as read, place, rule, what they are on. The same text gives the same list. */
import type { Circuit } from "../../circuit/model.ts";
import type { Finding } from "../rule.ts";

export function inOrder(circuit: Circuit, found: readonly Finding[]): readonly Finding[] {
  const files = new Map(circuit.files.map((file, index) => [file, index]));
  const fileOf = (finding: Finding) => files.get(finding.place.file) ?? files.size;
  const text = (a: string, b: string) => (a < b ? -1 : a > b ? 1 : 0);
  const seen = new Set<string>();
  return found
    .filter((finding) => {
      const { file, range } = finding.place;
      const key = `${finding.rule}|${finding.on.join(" ")}|${file}:${range.start}|${finding.message}`;
      if (seen.has(key)) return false;
      seen.add(key);
      return true;
    })
    .sort(
      (a, b) =>
        fileOf(a) - fileOf(b) ||
        a.place.range.start - b.place.range.start ||
        // A leader stands before what follows from it.
        Number(a.follows !== undefined) - Number(b.follows !== undefined) ||
        text(a.rule, b.rule) ||
        text(a.on.join(" "), b.on.join(" ")) ||
        text(a.message, b.message),
    );
}
