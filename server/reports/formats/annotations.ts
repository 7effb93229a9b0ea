/** Workflow commands: what a forge's runner turns into remarks beside the changed lines. */

import type { FileReport, ReportFinding } from "../report.ts";
import { inSight, messageOf } from "../summary.ts";
import type { ReportWriter } from "../writer.ts";

/** Everything that stands, or stays in sight, and was checked; the unchecked would drown the rest. */
function shown({ findings }: FileReport): ReportFinding[] {
  return findings.filter((finding) => inSight(finding) && finding.severity !== "unchecked");
}

/**
 * `::error file=…,line=…::message`: GitHub's workflow commands, which Gitea's and Forgejo's runners read too. Percent signs
 * and line ends are escaped, and in a property also colons and commas.
 */
export function githubWriter(): ReportWriter {
  const commands = { error: "error", warning: "warning", advice: "notice", unchecked: "notice" } as const;
  return lines((report) =>
    shown(report).map((finding) => {
      const { start, end } = finding.range;
      const properties = {
        file: finding.file.replace(/^\.\//, ""),
        line: start.line + 1,
        endLine: end.line + 1,
        // Columns are taken only where the place is on one line.
        ...(end.line === start.line ? { col: start.character + 1, endColumn: end.character + 1 } : {}),
        title: finding.rule,
      };
      const listed = Object.entries(properties).map(([key, value]) => `${key}=${property(String(value))}`);
      const command = finding.waived ? "notice" : commands[finding.severity];
      return `::${command} ${listed.join(",")}::${data(messageOf(finding))}`;
    }),
  );
}

const data = (text: string) => text.replaceAll("%", "%25").replaceAll("\r", "%0D").replaceAll("\n", "%0A");
const property = (text: string) => data(text).replaceAll(":", "%3A").replaceAll(",", "%2C");

/** `##vso[task.logissue …]message`: Azure Pipelines' logging commands. */
export function azureWriter(): ReportWriter {
  const plain = (text: string) =>
    text
      .replaceAll("%", "%AZP25")
      .replaceAll("\r", "%0D")
      .replaceAll("\n", "%0A")
      .replaceAll("]", "%5D")
      .replaceAll(";", "%3B");
  return lines((report) =>
    shown(report).map((finding) => {
      const { line, character } = finding.range.start;
      const type = finding.severity === "error" && !finding.waived ? "error" : "warning";
      const place = `sourcepath=${plain(finding.file)};linenumber=${line + 1};columnnumber=${character + 1}`;
      return `##vso[task.logissue type=${type};${place};code=${plain(finding.rule)}]${plain(messageOf(finding))}`;
    }),
  );
}

function lines(of: (report: FileReport) => readonly string[]): ReportWriter {
  let files = 0;
  return {
    add(report) {
      files++;
      return of(report)
        .map((line) => `${line}\n`)
        .join("");
    },
    end: () => [{ from: 0, to: files }],
  };
}
