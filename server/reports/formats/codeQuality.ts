/** The code-quality JSON that GitLab shows in a merge request: the part of Code Climate's issues that it reads. */
import { fingerprints } from "../fingerprint.ts";
import type { FileReport } from "../report.ts";
import { inSight, messageOf } from "../summary.ts";

const severities = { error: "critical", warning: "major", advice: "minor", unchecked: "info" } as const;

export function codeQualityReport(reports: readonly FileReport[]): string {
  const names = fingerprints(reports);
  const issues = reports.flatMap(({ findings }) =>
    findings.filter(inSight).map((finding) => ({
      type: "issue",
      check_name: finding.rule,
      description: messageOf(finding),
      categories: ["Bug Risk"],
      severity: finding.waived ? "info" : severities[finding.severity],
      fingerprint: names.get(finding),
      location: {
        path: finding.file.replace(/^\.\//, ""),
        lines: { begin: finding.range.start.line + 1, end: finding.range.end.line + 1 },
      },
    })),
  );
  return `${JSON.stringify(issues, undefined, 2)}\n`;
}
