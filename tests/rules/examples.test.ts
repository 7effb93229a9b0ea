/** Every rule's own examples: the bad one gives the rule and nothing that is not its doing, the good one is quiet. */
import { describe, expect, it } from "vitest";
import { check } from "../../server/check.ts";
import { ruleById, rules } from "../../server/rules/index.ts";
import type { Finding, Rule } from "../../server/rules/rule.ts";

const today = "2026-01-15";
const run = (text: string): readonly Finding[] => check("example.ampnet", text, { today }).findings;
const told = (findings: readonly Finding[]) =>
  findings
    .filter((finding) => !finding.waived && finding.severity !== "unchecked")
    .map((finding) => `${finding.severity} ${finding.rule}: ${finding.message}`);

/** A finding of another rule that this rule's finding leads is its doing. */
const isOwn = (rule: Rule, finding: Finding): boolean =>
  finding.rule === rule.id ||
  finding.follows === rule.id ||
  // What leads it is its cause.
  Boolean(ruleById.get(finding.rule)?.leads?.some((lead) => lead.rule === rule.id)) ||
  // Information, told of every stage that can be driven.
  finding.rule === "output/power" ||
  Boolean(rule.leads?.some((lead) => lead.rule === finding.rule));

for (const rule of rules) {
  describe(rule.id, () => {
    it("finds its bad example, and nothing else in it but advice", () => {
      // A text that makes a rule fail would be a fault to mend, so that rule has no bad example.
      if (rule.id === "circuit/rule-failed") return;
      const findings = run(rule.bad);
      expect(findings.map((finding) => finding.rule)).toContain(rule.id);
      const foreign = findings.filter((finding) => finding.severity !== "advice" && !isOwn(rule, finding));
      expect(told(foreign)).toEqual([]);
    });

    it("is quiet on its good example, which has no error", () => {
      const findings = run(rule.good).filter((finding) => !finding.waived);
      expect(
        findings.filter((finding) => finding.rule === rule.id).map((finding) => finding.message),
      ).toEqual([]);
      expect(told(findings.filter((finding) => finding.severity === "error"))).toEqual([]);
    });
  });
}
