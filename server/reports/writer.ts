/**
 * A report written file by file, so that no more than one file's findings are held at a time. What stands at the head of a
 * format is often known only at its end (how many cases, what failed): the pieces are put by as they come, and the writer
 * says at the end in which order they stand, with what before, between and behind them.
 */
import type { FileReport } from "./report.ts";

/** The pieces of the reports added from the `from`th on to before the `to`th, counted from zero. */
export interface Pieces {
  readonly from: number;
  readonly to: number;
}

export type Part = string | Pieces;

export interface ReportWriter {
  /** @returns the piece that the file takes up, to be put by; often empty */
  add(report: FileReport): string;
  /** Asked once, after the last file. */
  end(): Iterable<Part>;
}

/** The whole text at once, for a few files. */
export function written(writer: ReportWriter, reports: readonly FileReport[]): string {
  const pieces = reports.map((report) => writer.add(report));
  let text = "";
  for (const part of writer.end())
    text += typeof part === "string" ? part : pieces.slice(part.from, part.to).join("");
  return text;
}

/** A value as it stands so many levels deep in a larger JSON text; strings in it have no line ends of their own. */
export function jsonWithin(value: unknown, depth: number): string {
  const lead = "  ".repeat(depth);
  return lead + JSON.stringify(value, undefined, 2).replaceAll("\n", `\n${lead}`);
}
