/** Puts faults one at a time into every sound sample that can host them, and holds what is found to what should be. */
import { readdirSync, readFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { describe, expect, it } from "vitest";
import { check } from "../../../server/check.ts";
import type { Place } from "../../../server/circuit/model.ts";
import type { Finding } from "../../../server/rules/rule.ts";
import type { Mutation, Sample } from "./mutation.ts";
import { own } from "./own.ts";

const today = "2026-01-15";
const folder = fileURLToPath(new URL("../../../samples/", import.meta.url));
const samples: readonly Sample[] = readdirSync(folder)
  .filter((file) => file.endsWith(".ampnet"))
  .map((file) => ({ name: file.replace(/\.ampnet$/, ""), text: readFileSync(folder + file, "utf8") }));

/** A faulty sample says so at its head. */
export const sound: readonly Sample[] = samples.filter((sample) => !/^#.*FAULTY/m.test(sample.text));

/** Sound samples, and amplifiers of the tests' own for what no sample can host. */
export const hosts: readonly Sample[] = [...sound, ...own];

export const findingsOf = (sample: Sample): readonly Finding[] =>
  check(sample.name, sample.text, { today }).findings;

export const grave = (findings: readonly Finding[]) =>
  findings.filter((finding) => finding.severity === "error" || finding.severity === "warning");

/**
 * One test for every fault and every host: the rule is told, of the part, at the line of the fault; and no error or
 * warning is told that the fault does not bring about.
 */
export function holdMutations(mutations: readonly Mutation[]): void {
  for (const mutation of mutations) {
    const put = (among: readonly Sample[]) =>
      among.flatMap((sample) => {
        const changed = mutation.change(sample);
        return changed ? [{ sample, changed }] : [];
      });
    const inSamples = put(sound);
    const cases = inSamples.length > 0 ? inSamples : put(own);
    describe(`${mutation.rule}: ${mutation.fault}`, () => {
      it("is put into at least one amplifier", () => expect(cases.length).toBeGreaterThan(0));
      for (const { sample, changed } of cases) {
        it(`is found in ${sample.name}`, () => {
          const findings = findingsOf({ name: sample.name, text: changed.text });
          const told = findings.filter(
            (finding) =>
              finding.rule === mutation.rule && (changed.on === "" || finding.on.includes(changed.on)),
          );
          expect(told.length, `${mutation.rule} on ${changed.on}`).toBeGreaterThan(0);
          const faulty = linesChanged(sample.text, changed.text);
          if (faulty.size > 0 && mutation.elsewhere === undefined) {
            const shown = told.flatMap((finding) => [
              finding.place,
              ...finding.related.map(({ place }) => place),
            ]);
            const lines = shown.flatMap((place) => linesOf(place, sample.name, changed.text));
            expect(
              lines.some((line) => faulty.has(line)),
              `lines shown ${[...new Set(lines)]}; of the fault ${[...faulty]}`,
            ).toBe(true);
          }
          const foreign = grave(findings).filter((finding) => !isOwn(mutation, finding, findings));
          expect(foreign.map((finding) => `${finding.rule}: ${finding.message}`)).toEqual([]);
        });
      }
    });
  }
}

/** The rule itself, what follows it, and what the fault is said to bring about, with what follows that. */
function isOwn(mutation: Mutation, finding: Finding, findings: readonly Finding[]): boolean {
  const allowed = Object.keys(mutation.allow ?? {});
  const seen = new Set<string>();
  let rule: string | undefined = finding.rule;
  while (rule !== undefined && !seen.has(rule)) {
    const now: string = rule;
    if (now === mutation.rule || allowed.some((id) => (id.endsWith("/") ? now.startsWith(id) : now === id)))
      return true;
    seen.add(now);
    rule = (now === finding.rule ? finding : findings.find((other) => other.rule === now))?.follows;
  }
  return false;
}

/** Lines of `to`, from nought, that are not in `from`. */
function linesChanged(from: string, to: string): ReadonlySet<number> {
  const had = new Set(from.split("\n").map((line) => line.trim()));
  return new Set(to.split("\n").flatMap((line, index) => (had.has(line.trim()) ? [] : [index])));
}

function linesOf(place: Place, file: string, text: string): readonly number[] {
  if (place.file !== file) return [];
  const line = (offset: number) => text.slice(0, offset).split("\n").length - 1;
  const first = line(place.range.start);
  return Array.from({ length: line(place.range.end) - first + 1 }, (_, index) => first + index);
}
