/** Each sound sample, one fault put in at a time: the rule finds it, and nothing that has nothing to do with it is told. */
import { readdirSync, readFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { describe, expect, it } from "vitest";
import { check } from "../../server/check.ts";
import { ruleById, rules } from "../../server/rules/index.ts";
import type { Finding } from "../../server/rules/rule.ts";
import type { Mutation, Sample } from "./mutations/mutation.ts";
import { output } from "./mutations/output.ts";
import { rating } from "./mutations/rating.ts";
import { supply } from "./mutations/supply.ts";
import { valve } from "./mutations/valve.ts";

const today = "2026-01-15";
const folder = fileURLToPath(new URL("../../samples/", import.meta.url));
const samples: readonly Sample[] = readdirSync(folder)
  .filter((file) => file.endsWith(".ampnet"))
  .map((file) => ({ name: file.replace(/\.ampnet$/, ""), text: readFileSync(folder + file, "utf8") }));
/** A faulty sample says so at its head. */
const sound = samples.filter((sample) => !/^#.*FAULTY/m.test(sample.text));

const mutations: readonly Mutation[] = [...rating, ...valve, ...supply, ...output];

/** Rules of these families for which no fault can be put into a sample, and why. Their examples and edges test them. */
const notByMutation: Readonly<Record<string, string>> = {
  "output/power": "information, told of every stage",
  "valve/substitute": "no sample stands between the limits of two types of one name",
  "supply/unloaded": "no sample has a choke input",
  "supply/rectifier-hot-switch":
    "only directly heated rectifiers have the figure, and the sample's own drop holds its peak",
};
const families = ["rating/", "valve/", "supply/", "output/"];

const grave = (findings: readonly Finding[]) =>
  findings.filter((finding) => finding.severity === "error" || finding.severity === "warning");

describe("sound samples", () => {
  it("are at least three", () => expect(sound.length).toBeGreaterThanOrEqual(3));
  it.each(sound.map((sample) => [sample.name, sample] as const))(
    "%s has no error and no warning",
    (_, sample) => {
      const found = grave(check(sample.name, sample.text, { today }).findings);
      expect(found.map((finding) => `${finding.rule}: ${finding.message}`)).toEqual([]);
    },
  );
});

describe("faults put into sound samples", () => {
  it("cover every rule of the families, or say why not", () => {
    const covered = new Set(mutations.map((mutation) => mutation.rule));
    const left = rules
      .map((rule) => rule.id)
      .filter((id) => families.some((family) => id.startsWith(family)))
      .filter((id) => !covered.has(id) && !(id in notByMutation));
    expect(left).toEqual([]);
    for (const { rule } of mutations) expect(ruleById.has(rule), rule).toBe(true);
  });

  for (const mutation of mutations) {
    const cases = sound.flatMap((sample) => {
      const changed = mutation.change(sample);
      return changed ? [{ sample, changed }] : [];
    });
    describe(`${mutation.rule}: ${mutation.fault}`, () => {
      it("is put into at least one sample", () => expect(cases.length).toBeGreaterThan(0));
      for (const { sample, changed } of cases) {
        it(`is found in ${sample.name}`, () => {
          const { findings } = check(sample.name, changed.text, { today });
          const own = findings.filter(
            (finding) => finding.rule === mutation.rule && finding.on.includes(changed.on),
          );
          expect(own.length, `${mutation.rule} on ${changed.on}`).toBeGreaterThan(0);
          const foreign = grave(findings).filter((finding) => !isOwn(mutation, finding));
          expect(foreign.map((finding) => `${finding.rule}: ${finding.message}`)).toEqual([]);
        });
      }
    });
  }
});

/** The rule itself, what it leads or what leads it, and what the fault is said to bring about. */
function isOwn(mutation: Mutation, finding: Finding): boolean {
  if (finding.rule === mutation.rule || finding.follows === mutation.rule) return true;
  const leads = (leader: string, follower: string) =>
    ruleById
      .get(leader)
      ?.leads?.some(({ rule }) => (rule.endsWith("/") ? follower.startsWith(rule) : follower === rule));
  if (leads(mutation.rule, finding.rule) || leads(finding.rule, mutation.rule)) return true;
  return (mutation.allow ?? []).some((entry) =>
    entry.endsWith("/") ? finding.rule.startsWith(entry) : finding.rule === entry,
  );
}
