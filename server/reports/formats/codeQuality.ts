/** The code-quality JSON that GitLab shows in a merge request: the part of Code Climate's issues that it reads. */
import { fingerprints } from "../fingerprint.ts";
import type { FileReport } from "../report.ts";
import { inSight, messageOf } from "../summary.ts";
import { jsonWithin, type ReportWriter } from "../writer.ts";
import type { FormatContext } from "./index.ts";

const severities = { error: "critical", warning: "major", advice: "minor", unchecked: "info" } as const;

export function codeQualityWriter(_: FormatContext, paths: readonly string[]): ReportWriter {
  const namesOf = fingerprints(paths);
  let files = 0;
  let issues = 0;
  return {
    add(report) {
      files++;
      const own = issuesOf(report, namesOf(report));
      const piece = own.map((issue, nth) => `${issues + nth > 0 ? ",\n" : ""}${jsonWithin(issue, 1)}`);
      issues += own.length;
      return piece.join("");
    },
    end: () => (issues === 0 ? ["[]\n"] : ["[\n", { from: 0, to: files }, "\n]\n"]),
  };
}

function issuesOf({ findings }: FileReport, names: readonly string[]) {
  return findings.flatMap((finding, nth) =>
    inSight(finding)
      ? [
          {
            type: "issue",
            check_name: finding.rule,
            description: messageOf(finding),
            categories: ["Bug Risk"],
            severity: finding.waived ? "info" : severities[finding.severity],
            fingerprint: names[nth],
            location: {
              path: finding.file.replace(/^\.\//, ""),
              lines: { begin: finding.range.start.line + 1, end: finding.range.end.line + 1 },
            },
          },
        ]
      : [],
  );
}
