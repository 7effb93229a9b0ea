/** What a text gives in the families of the mains, the earth and the circuit, as "severity rule", but for the unchecked. */
import { check } from "../../../server/check.ts";
import type { Finding } from "../../../server/rules/rule.ts";

export const findingsOf = (text: string): readonly Finding[] =>
  check("case.ampnet", text, { today: "2026-01-15" }).findings.filter(
    ({ severity, rule }) => severity !== "unchecked" && /^(mains|earth|circuit|bench)\//.test(rule),
  );

/** Sorted; followers in brackets. */
export const told = (text: string): string[] =>
  findingsOf(text)
    .map(({ severity, rule, follows }) => (follows ? `(${severity} ${rule})` : `${severity} ${rule}`))
    .sort();

export const uncheckedOf = (text: string): string[] =>
  check("case.ampnet", text).missed.map(({ on, what }) => `${on}: ${what}`);
