/** Markdown for a comment under a pull request: the counts, the findings in a table, the cautions. */
import type { FileReport, ReportFinding } from "../report.ts";
import { addTallies, caution, noTally, stands, summaryLines, tallyOf } from "../summary.ts";
import type { ReportWriter } from "../writer.ts";

/** A forge cuts or refuses a comment of more than 65,536 characters. */
const longest = 60_000;

export function markdownWriter(): ReportWriter {
  let tally = noTally;
  // The graver first, each kind in the order of the files.
  const standing = { error: new Rows(), warning: new Rows(), advice: new Rows() };
  const waived = new Rows();
  const add = (report: FileReport) => {
    tally = addTallies(tally, tallyOf(report));
    for (const finding of report.findings) {
      if (finding.waived) waived.add(() => waivedRow(finding));
      else if (stands(finding) && finding.severity !== "unchecked")
        standing[finding.severity].add(() => standingRow(finding));
    }
    return "";
  };
  const end = () => {
    const lines = ["## Derate", "", ...summaryLines(tally).map((line) => `- ${cell(line)}`), ""];
    const foot = ["", `> ${caution}`, ""];
    let room = longest - foot.join("\n").length - lines.join("\n").length;
    const table = (heading: readonly string[], kinds: readonly Rows[]) => {
      const count = kinds.reduce((sum, rows) => sum + rows.count, 0);
      if (count === 0) return;
      lines.push(...heading);
      let shown = 0;
      for (const row of kinds.flatMap(({ kept }) => kept)) {
        room -= row.length + 1;
        if (room < 100) break;
        lines.push(row);
        shown++;
      }
      lines.push("");
      if (shown < count) lines.push(`and ${count - shown} more.`);
    };
    table(["| severity | where | what |", "| --- | --- | --- |"], Object.values(standing));
    table(["Waived, and still so:", ""], [waived]);
    return [[...lines, ...foot].join("\n")];
  };
  return { add, end };
}

/** As many rows as a comment has room for; of the rest, how many they are. */
class Rows {
  readonly kept: string[] = [];
  count = 0;
  private length = 0;

  add(row: () => string): void {
    this.count++;
    if (this.length > longest) return;
    const text = row();
    this.kept.push(text);
    this.length += text.length + 1;
  }
}

function standingRow(finding: ReportFinding): string {
  const words = `${cell(finding.message)} <sub>${code(finding.rule)}</sub>`;
  return `| ${finding.severity} | ${code(placeOf(finding))} | ${words} |`;
}

function waivedRow(finding: ReportFinding): string {
  const until = finding.waived?.until ? ` until ${finding.waived.until}` : "";
  return `- ${code(placeOf(finding))} ${cell(finding.message)} <sub>${code(finding.rule)}</sub> Waived${until}: ${cell(finding.waived?.reason ?? "")}`;
}

const placeOf = ({ file, range }: ReportFinding) => `${file}:${range.start.line + 1}`;

/** Text in a table's cell: no bar, no line end, nothing read as markup. */
function cell(text: string): string {
  return text.replace(/\s+/g, " ").replace(/[\\`*_{}[\]<>|#~]/g, "\\$&");
}

function code(text: string): string {
  return `\`${text.replaceAll("`", "'").replaceAll("|", "\\|")}\``;
}
