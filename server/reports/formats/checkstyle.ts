/** Checkstyle XML, which many review tools read. */
import { XMLBuilder } from "fast-xml-parser";
import type { FileReport, ReportFinding } from "../report.ts";
import { inSight, messageOf } from "../summary.ts";
import { cleanXml } from "./xml.ts";

const severities = { error: "error", warning: "warning", advice: "info", unchecked: "info" } as const;

export function checkstyleReport(reports: readonly FileReport[]): string {
  const byFile = new Map<string, ReportFinding[]>(reports.map(({ path }) => [path, []]));
  for (const { findings } of reports)
    for (const finding of findings)
      if (inSight(finding)) byFile.set(finding.file, [...(byFile.get(finding.file) ?? []), finding]);
  const builder = new XMLBuilder({
    ignoreAttributes: false,
    attributeNamePrefix: "@",
    format: true,
    suppressEmptyNode: true,
  });
  return builder.build(
    cleanXml({
      "?xml": { "@version": "1.0", "@encoding": "UTF-8" },
      checkstyle: {
        "@version": "8.0",
        file: [...byFile].map(([path, findings]) => ({
          "@name": path,
          error: findings.map((finding) => ({
            "@line": finding.range.start.line + 1,
            "@column": finding.range.start.character + 1,
            "@severity": finding.waived ? "info" : severities[finding.severity],
            "@message": messageOf(finding),
            "@source": `derate.${finding.rule}`,
          })),
        })),
      },
    }),
  );
}
