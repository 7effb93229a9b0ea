/** Each sound sample, one fault put in at a time: the mains side, the earth, readings and slips of the pen. */
import { describe, expect, it } from "vitest";
import { check } from "../../server/check.ts";
import { ruleById, rules } from "../../server/rules/index.ts";
import type { Rule } from "../../server/rules/rule.ts";
import { runRules } from "../../server/rules/run.ts";
import { bench } from "./mutations/bench.ts";
import { circuit } from "./mutations/circuit.ts";
import { earth } from "./mutations/earth.ts";
import { mains } from "./mutations/mains.ts";
import { output } from "./mutations/output.ts";
import { rating } from "./mutations/rating.ts";
import { findingsOf, grave, holdMutations, hosts, sound } from "./mutations/run.ts";
import { supply } from "./mutations/supply.ts";
import { valve } from "./mutations/valve.ts";

/** Of these no fault in a netlist gives the rule; how they are held instead. */
const notByMutation: Readonly<Record<string, string>> = {
  "output/power": "information on a sound stage too: held below",
  "circuit/rule-failed": "a fault of the program's own: held below",
};

describe("sound amplifiers", () => {
  it("are at least three samples", () => expect(sound.length).toBeGreaterThanOrEqual(3));
  it.each(hosts.map((sample) => [sample.name, sample] as const))(
    "%s has no error and no warning, and its power is told",
    (_, sample) => {
      const findings = findingsOf(sample);
      expect(grave(findings).map((finding) => `${finding.rule}: ${finding.message}`)).toEqual([]);
      expect(findings.filter((finding) => finding.rule === "output/power").length).toBe(1);
    },
  );
});

describe("every rule of the catalogue", () => {
  const every = [...mains, ...earth, ...rating, ...valve, ...supply, ...output, ...bench, ...circuit];
  const covered = new Set(every.map((mutation) => mutation.rule));

  it("has a fault that gives it", () => {
    expect(rules.map((rule) => rule.id).filter((id) => !covered.has(id) && !(id in notByMutation))).toEqual(
      [],
    );
  });

  it("is of the catalogue where a fault or a consequence names it", () => {
    for (const { rule, allow } of every) {
      expect(ruleById.has(rule), rule).toBe(true);
      for (const [id, reason] of Object.entries(allow ?? {})) {
        expect(id.endsWith("/") ? rules.some((other) => other.id.startsWith(id)) : ruleById.has(id), id).toBe(
          true,
        );
        expect(reason.length, `${rule} allows ${id}`).toBeGreaterThan(5);
      }
    }
    for (const id of Object.keys(notByMutation)) expect(ruleById.has(id), id).toBe(true);
  });

  it("is told as failed, and counted as unchecked, where it stops on a fault of its own", () => {
    const failing: Rule = {
      ...rules[0],
      check: () => {
        throw new Error("slip");
      },
    };
    const { circuit: built, analysis } = check(sound[0].name, sound[0].text, {});
    const { findings, unchecked } = runRules(built, analysis, { rules: [failing] });
    expect(
      findings.some(({ rule, message }) => rule === "circuit/rule-failed" && message.includes(failing.id)),
    ).toBe(true);
    expect(unchecked).toBeGreaterThan(0);
  });
});

holdMutations([...mains, ...earth, ...bench, ...circuit]);
