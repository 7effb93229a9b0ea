/** A comparison for people: as text for a terminal, as Markdown for a pull request. */
import type { Comparison, MarginChange, PartChange, VoltsChange } from "./compare.ts";
import type { ReportFinding } from "./report.ts";
import type { Style } from "./style.ts";
import { caution } from "./summary.ts";
import { table } from "./table.ts";
import { count, meterVolts } from "./units.ts";
import { wrap } from "./wrap.ts";

const quiet = "No part, voltage, margin or finding changed by more than the comparison tells.";

export function compareText(
  comparison: Comparison,
  { style, width }: { style: Style; width: number },
): string {
  const { parts, volts, margins, findings } = comparison;
  const lines = [style.strong(`${comparison.old} -> ${comparison.new}`), ""];
  const section = (title: string, rows: readonly string[]) => {
    if (rows.length > 0) lines.push(style.strong(title), ...rows.map((row) => `  ${row}`), "");
  };
  section(
    "Findings that appeared",
    findings.appeared.flatMap((finding) => findingLines(finding, width - 2)),
  );
  section(
    "Findings that are gone",
    findings.gone.flatMap((finding) => findingLines(finding, width - 2)),
  );
  section("Parts", table(parts.flatMap(partRows), 2));
  section("Idle volts at nominal mains", table(voltsRows(volts.filter(isPlain)), 1));
  section("Other volts, most moved first", table(voltsRows(mostMoved(volts)), 3));
  section("Limits used up, worst of all states", table(margins.map(marginRow), 2));
  if (lines.length === 2) lines.push(quiet, "");
  lines.push(`${count(findings.stayed, "finding")} stayed.`, "", ...wrap(caution, width).map(style.faint));
  return `${lines.join("\n")}\n`;
}

export function compareMarkdown(comparison: Comparison): string {
  const { parts, volts, margins, findings } = comparison;
  const lines = ["## Derate: what changed", "", `${code(comparison.old)} → ${code(comparison.new)}`, ""];
  const section = (title: string, heading: readonly string[], rows: readonly (readonly string[])[]) => {
    if (rows.length === 0) return;
    lines.push(
      `### ${title}`,
      "",
      `| ${heading.join(" | ")} |`,
      `| ${heading.map(() => "---").join(" | ")} |`,
    );
    for (const row of rows) lines.push(`| ${row.map(cell).join(" | ")} |`);
    lines.push("");
  };
  const finding = ({ severity, file, range, message, rule }: ReportFinding) => [
    severity,
    `${file}:${range.start.line + 1}`,
    `${message} (${rule})`,
  ];
  section("Findings that appeared", ["", "where", "what"], findings.appeared.map(finding));
  section("Findings that are gone", ["", "where", "what"], findings.gone.map(finding));
  section("Parts", ["part", "what", "before", "after"], parts.flatMap(partCells));
  section(
    "Idle volts at nominal mains",
    ["net", "before", "after"],
    voltsCells(volts.filter(isPlain)).map(([net, , , a, b]) => [net, a, b]),
  );
  section(
    "Other volts, most moved first",
    ["net", "state", "mains", "before", "after"],
    voltsCells(mostMoved(volts)),
  );
  section(
    "Limits used up",
    ["on", "rule", "before", "after"],
    margins.map(({ on, rule, old, new: now }) => [on, rule, percent(old), percent(now)]),
  );
  if (lines.length === 4) lines.push(quiet, "");
  lines.push(`${count(findings.stayed, "finding")} stayed.`, "", `> ${caution}`, "");
  return lines.join("\n");
}

const isPlain = ({ state, mains }: VoltsChange) => state === "idle" && mains === "nominal";

/** The rest would be five times the same story: the dozen that moved most. */
function mostMoved(volts: readonly VoltsChange[]): VoltsChange[] {
  const size = ({ old, new: now }: VoltsChange) =>
    old === null || now === null ? Number.POSITIVE_INFINITY : Math.abs(old - now);
  return volts
    .filter((change) => !isPlain(change))
    .sort((a, b) => (size(b) > size(a) ? 1 : size(b) < size(a) ? -1 : 0))
    .slice(0, 12);
}

function findingLines(finding: ReportFinding, width: number): string[] {
  const place = `${finding.file}:${finding.range.start.line + 1}`;
  return wrap(`${finding.severity}: ${finding.message} (${finding.rule}, ${place})`, width);
}

function partCells({ reference, change, facts }: PartChange): string[][] {
  const shown = change === "changed" ? facts : facts.filter(({ name }) => name === "kind");
  return shown.map(({ name, old, new: now }) => [
    reference,
    name === "kind" && change !== "changed" ? change : name,
    old ?? "–",
    now ?? "–",
  ]);
}

function partRows(part: PartChange): string[][] {
  return partCells(part).map(([reference, name, old, now]) => [reference, name, old, "->", now]);
}

function voltsCells(volts: readonly VoltsChange[]): string[][] {
  return volts.map(({ net, state, mains, old, new: now }) => [
    net,
    state,
    mains,
    meterVolts(old),
    meterVolts(now),
  ]);
}

function voltsRows(volts: readonly VoltsChange[]): string[][] {
  const plain = volts.every(isPlain);
  return voltsCells(volts).map(([net, state, mains, old, now]) =>
    plain ? [net, old, "->", now] : [net, state, mains, old, "->", now],
  );
}

function marginRow({ on, rule, old, new: now }: MarginChange): string[] {
  return [on, rule, percent(old), "->", percent(now)];
}

const percent = (share: number | null) => (share === null ? "–" : `${(share * 100).toFixed(0)} %`);
const code = (text: string) => `\`${text.replaceAll("`", "'")}\``;
const cell = (text: string) => text.replace(/\s+/g, " ").replace(/[\\`*_{}[\]<>|#~]/g, "\\$&");
