/** Findings for programs. The keys are a promise: new ones may come, none may change or go. */
import type { FileReport } from "./report.ts";

/** Version of the JSON shapes, raised when a key changes its meaning. */
export const formatVersion = 1;

export function jsonReport(reports: readonly FileReport[]): string {
  const files = reports.map(({ margins, ...report }) => report);
  return `${JSON.stringify({ version: formatVersion, files }, undefined, 2)}\n`;
}
