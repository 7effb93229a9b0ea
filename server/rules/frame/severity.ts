/** Severities that the options ask for. */
import type { CheckOptions, Finding } from "../rule.ts";

/**
 * `options.severity` by rule id, else by family (`rating`). An error of the mains and earth families stays an error and
 * is never silenced: those are waived in the file, with a reason, or not at all.
 */
export function severityFor(found: readonly Finding[], options: CheckOptions): readonly Finding[] {
  const asked = options.severity;
  if (!asked) return found;
  const kept: Finding[] = [];
  for (const finding of found) {
    const wish = asked[finding.rule] ?? asked[finding.rule.split("/")[0]];
    if (wish === undefined || isSafety(finding)) kept.push(finding);
    else if (wish !== "off") kept.push({ ...finding, severity: wish });
  }
  return kept;
}

/** An error that can hurt someone at the mains: it is waived only with a reason, and stays visible. */
export function isSafety(finding: Finding): boolean {
  return finding.severity === "error" && /^(mains|earth)\//.test(finding.rule);
}
