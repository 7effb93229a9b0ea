/** Findings as diagnostics: one per finding that stands in the document, with its causes, page and tags. */
import type { Diagnostic, DiagnosticRelatedInformation } from "vscode-languageserver-types";
import type { CheckResult } from "../check.ts";
import type { Finding, Severity } from "../rules/rule.ts";
import { placeRange } from "./document.ts";

// The protocol's numbers; the types package's constants would be the only run-time import of this file.
const SEVERITY: Readonly<Record<Severity, 1 | 2 | 3 | 4>> = { error: 1, warning: 2, advice: 3, unchecked: 4 };
const UNNECESSARY = 1;

export interface DiagnosticData {
  /** Which finding of the check it is, so that an action need not guess from the text. */
  readonly finding: string;
}

export interface DiagnosticOptions {
  /** A file's key to its URI. */
  readonly uriOf: (file: string) => string;
  /** Where a rule's page is; undefined where no page can be linked. */
  readonly pageOf?: (rule: string) => string | undefined;
  readonly related?: boolean;
}

/** @returns the diagnostics of one file of the check. */
export function diagnostics(result: CheckResult, file: string, options: DiagnosticOptions): Diagnostic[] {
  return result.findings
    .filter((finding) => finding.place.file === file)
    .map((finding) => toDiagnostic(result, finding, options));
}

/** Stable for the same finding of the same text. */
export function findingKey(finding: Finding): string {
  return `${finding.rule} ${finding.on.join(" ")} ${finding.place.range.start}`;
}

function toDiagnostic(result: CheckResult, finding: Finding, options: DiagnosticOptions): Diagnostic {
  const page = options.pageOf?.(finding.rule);
  const related: DiagnosticRelatedInformation[] = finding.related.map(({ message, place }) => ({
    location: { uri: options.uriOf(place.file), range: placeRange(result, place) },
    message,
  }));
  const fades = finding.rule === "circuit/waive-unused";
  return {
    range: placeRange(result, finding.place),
    severity: finding.waived ? 3 : SEVERITY[finding.severity],
    code: finding.rule,
    ...(page ? { codeDescription: { href: page } } : {}),
    source: "derate",
    message: finding.waived ? `Waived (${finding.waived.reason}): ${finding.message}` : finding.message,
    ...(options.related !== false && related.length > 0 ? { relatedInformation: related } : {}),
    ...(fades ? { tags: [UNNECESSARY] } : {}),
    data: { finding: findingKey(finding) } satisfies DiagnosticData,
  };
}
