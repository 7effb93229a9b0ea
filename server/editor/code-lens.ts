/** A line above `amp` with what was found and checked, and one above each valve with its dissipation. */
import type { CodeLens } from "vscode-languageserver-types";
import { bookOf } from "../facts/valves/book.ts";
import { percent, quantity } from "../rules/frame/quantity.ts";
import type { Finding } from "../rules/rule.ts";
import { type CheckedDocument, toRange } from "./document.ts";

/** Commands the client offers; the lens names one and passes its argument. */
export const EXPLAIN_COMMAND = "derate.showFindings";

export function codeLenses(document: CheckedDocument): CodeLens[] {
  const { result } = document;
  const lenses: CodeLens[] = [];
  for (const statement of document.tree.statements) {
    if (statement.node !== "amp") continue;
    lenses.push({
      range: toRange(document, statement.range),
      command: {
        title: summary(result.findings, result.checked, result.unchecked),
        command: EXPLAIN_COMMAND,
      },
    });
  }
  for (const part of result.circuit.parts) {
    if (part.kind !== "valve" || part.place.file !== document.file) continue;
    const title = dissipation(document, part.reference, part.type);
    if (title) lenses.push({ range: toRange(document, part.place.range), command: { title, command: "" } });
  }
  return lenses;
}

/** "2 errors, 1 warning · 83 limits checked, 4 could not be": never a word of "safe". */
export function summary(findings: readonly Finding[], checked: number, unchecked: number): string {
  const count = (severity: string, one: string, many: string) => {
    const number = findings.filter((finding) => finding.severity === severity && !finding.waived).length;
    return number === 0 ? "" : `${number} ${number === 1 ? one : many}`;
  };
  const found = [
    count("error", "error", "errors"),
    count("warning", "warning", "warnings"),
    count("advice", "piece of advice", "pieces of advice"),
  ].filter(Boolean);
  return `${found.length === 0 ? "no limit found over" : found.join(", ")} · ${checked} limits checked, ${unchecked} could not be`;
}

function dissipation(
  document: CheckedDocument,
  reference: string,
  type: string | undefined,
): string | undefined {
  const solution = document.result.analysis.solution("idle", "nominal");
  const limits = type === undefined ? undefined : bookOf(document.result.circuit).find(type)?.limits;
  if (!solution || !limits?.plateWatts) return undefined;
  const parts: string[] = [];
  for (const [key, reading] of solution.readings) {
    if (!key.startsWith(`${reference}.`) || !key.endsWith(".plate") || reading.watts === undefined) continue;
    if (!Number.isFinite(reading.watts)) continue;
    const section = key.slice(reference.length + 1, -".plate".length).replace(/\.$/, "");
    const share = percent(reading.watts / limits.plateWatts);
    parts.push(
      `${section ? `${section}: ` : ""}${quantity(reading.watts, "W")}, ${share} of ${quantity(limits.plateWatts, "W")}`,
    );
  }
  return parts.length === 0 ? undefined : `plate at idle ${parts.join(" · ")}`;
}
