/** A line above `amp` with what was found and checked, and one above each valve with its dissipation. */
import type { CodeLens } from "vscode-languageserver-types";
import { percent, quantity } from "../rules/frame/quantity.ts";
import type { Finding } from "../rules/rule.ts";
import { type CheckedDocument, toRange } from "./document.ts";
import { plateWattsAllowed } from "./hover/valve.ts";

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
    const title = dissipation(document, part.reference);
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

/** "plate at idle 11.7 W, 97 % of 12 W" */
function dissipation({ result }: CheckedDocument, reference: string): string | undefined {
  const solution = result.analysis.solution("idle", "nominal");
  if (!solution) return undefined;
  const parts: string[] = [];
  for (const [key, { watts }] of solution.readings) {
    if (!key.startsWith(`${reference}.`) || !key.endsWith(".plate")) continue;
    if (watts === undefined || !Number.isFinite(watts)) continue;
    const own = key.slice(0, -".plate".length);
    const most = plateWattsAllowed(result, own);
    if (!most) continue;
    const section = own.slice(reference.length + 1);
    parts.push(
      `${section ? `${section}: ` : ""}${quantity(watts, "W")}, ${percent(watts / most)} of ${quantity(most, "W")}`,
    );
  }
  return parts.length === 0 ? undefined : `plate at idle ${parts.join(" · ")}`;
}
