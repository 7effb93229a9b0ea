/**
 * Margins as a table for a spreadsheet (RFC 4180): every limit that was held against a number, passed or not. A file that could
 * not be read has a row that says so: a table without it would look whole.
 */
import type { Margin } from "../../rules/rule.ts";
import type { ReportWriter } from "../writer.ts";

const header = [
  "file",
  "on",
  "rule",
  "state",
  "mains",
  "value",
  "limit",
  "unit",
  "used_percent",
  "within",
  "source",
];

export function csvWriter(): ReportWriter {
  let files = 0;
  return {
    add({ path, margins = [], findings, unread }) {
      files++;
      if (unread) return findings.map(({ rule, message }) => line(unreadRow(path, rule, message))).join("");
      return margins.map((margin) => line(rowOf(path, margin))).join("");
    },
    end: () => [line(header), { from: 0, to: files }],
  };
}

const rowOf = (path: string, margin: Margin): readonly string[] => [
  path,
  margin.on,
  margin.rule,
  margin.state ?? "",
  margin.mains ?? "",
  number(margin.value),
  number(margin.limit),
  margin.unit,
  used(margin),
  within(margin) ? "yes" : "no",
  margin.source,
];

const unreadRow = (path: string, rule: string, why: string): readonly string[] =>
  header.map((key) => ({ file: path, rule, within: "no", source: why })[key] ?? "");

const line = (row: readonly string[]) => `${row.map(field).join(",")}\r\n`;

/** The share of the limit that the value takes up; of a least value, the share of the value that the limit takes up. */
function used({ value, limit, breach }: Margin): string {
  const share = breach === "below" ? limit / value : value / limit;
  return Number.isFinite(share) ? (share * 100).toFixed(1) : "";
}

function within({ value, limit, breach }: Margin): boolean {
  const exact = Math.abs(limit) * 1e-9;
  return breach === "below" ? value >= limit - exact : value <= limit + exact;
}

/** Nine digits: more than any figure here deserves, and free of binary dust. */
const number = (value: number) => (Number.isFinite(value) ? String(Number(value.toPrecision(9))) : "");

function field(text: string): string {
  // A spreadsheet would run a text that begins like a formula.
  const tame = /^[=+@\t\r]|^-(?![\d.])/.test(text) ? `'${text}` : text;
  return /[",\r\n]/.test(tame) ? `"${tame.replaceAll('"', '""')}"` : tame;
}
