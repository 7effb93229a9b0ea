/** Markdown for a comment under a pull request: the counts, the findings in a table, the cautions. */
import type { FileReport, ReportFinding } from "../report.ts";
import { caution, ranks, stands, summarise, summaryLines } from "../summary.ts";

/** A forge cuts or refuses a comment of more than 65,536 characters. */
const longest = 60_000;

export function markdownReport(reports: readonly FileReport[]): string {
  const standing = reports
    .flatMap(({ findings }) =>
      findings.filter((finding) => stands(finding) && finding.severity !== "unchecked"),
    )
    .sort((a, b) => ranks[b.severity] - ranks[a.severity]);
  const waived = reports.flatMap(({ findings }) => findings.filter((finding) => finding.waived));
  const lines = ["## Derate", "", ...summaryLines(summarise(reports)).map((line) => `- ${cell(line)}`), ""];
  const foot = ["", `> ${caution}`, ""];
  let room = longest - foot.join("\n").length - lines.join("\n").length;
  const rows = (
    heading: readonly string[],
    findings: readonly ReportFinding[],
    row: (finding: ReportFinding) => string,
  ) => {
    lines.push(...heading);
    for (const [index, finding] of findings.entries()) {
      const text = row(finding);
      room -= text.length + 1;
      if (room < 100) {
        lines.push("", `and ${findings.length - index} more.`);
        return;
      }
      lines.push(text);
    }
    lines.push("");
  };
  if (standing.length > 0)
    rows(["| severity | where | what |", "| --- | --- | --- |"], standing, (finding) => {
      const words = `${cell(finding.message)} <sub>${code(finding.rule)}</sub>`;
      return `| ${finding.severity} | ${code(placeOf(finding))} | ${words} |`;
    });
  if (waived.length > 0)
    rows(["Waived, and still so:", ""], waived, (finding) => {
      const until = finding.waived?.until ? ` until ${finding.waived.until}` : "";
      return `- ${code(placeOf(finding))} ${cell(finding.message)} <sub>${code(finding.rule)}</sub> Waived${until}: ${cell(finding.waived?.reason ?? "")}`;
    });
  return [...lines, ...foot].join("\n");
}

const placeOf = ({ file, range }: ReportFinding) => `${file}:${range.start.line + 1}`;

/** Text in a table's cell: no bar, no line end, nothing read as markup. */
function cell(text: string): string {
  return text.replace(/\s+/g, " ").replace(/[\\`*_{}[\]<>|#~]/g, "\\$&");
}

function code(text: string): string {
  return `\`${text.replaceAll("`", "'").replaceAll("|", "\\|")}\``;
}
