/** Findings for programs. The keys are a promise: new ones may come, none may change or go. */
import type { FileReport } from "./report.ts";
import { jsonWithin, type ReportWriter, written } from "./writer.ts";

/** Version of the JSON shapes, raised when a key changes its meaning. */
export const formatVersion = 1;

export function jsonWriter(): ReportWriter {
  let files = 0;
  return {
    add: ({ margins: _, ...report }) => `${files++ > 0 ? ",\n" : ""}${jsonWithin(report, 2)}`,
    *end() {
      yield `{\n  "version": ${formatVersion},\n  "files": [`;
      if (files > 0) {
        yield "\n";
        yield { from: 0, to: files };
        yield "\n  ";
      }
      yield "]\n}\n";
    },
  };
}

export function jsonReport(reports: readonly FileReport[]): string {
  return written(jsonWriter(), reports);
}
