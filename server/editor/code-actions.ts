/** What can be done about a finding: its checked fix, every fix of its kind, a waiver with a reason, a block of a stage. */
import type { CodeAction, Diagnostic, Range as LspRange, TextEdit } from "vscode-languageserver-types";
import { lineAt } from "../../grammar/positions.ts";
import { applyEdits } from "../check.ts";
import type { Finding, Fix } from "../rules/rule.ts";
import { isWriting } from "../rules/writing.ts";
import { type DiagnosticData, findingKey } from "./diagnostics.ts";
import { type CheckedDocument, placeRange, toOffset, toRange } from "./document.ts";
import { extractBlock } from "./extract-block.ts";

export interface ActionOptions {
  readonly uriOf: (file: string) => string;
  /** The diagnostics under the cursor as the client sent them. */
  readonly diagnostics: readonly Diagnostic[];
  /** Kinds asked for; empty for all. */
  readonly only: readonly string[];
}

export const FIX_ALL_KIND = "source.fixAll.derate";
export const ACTION_KINDS = ["quickfix", "refactor.extract", FIX_ALL_KIND] as const;

export function codeActions(
  document: CheckedDocument,
  range: LspRange,
  options: ActionOptions,
): CodeAction[] {
  const wants = (kind: string) =>
    options.only.length === 0 || options.only.some((asked) => kind === asked || kind.startsWith(`${asked}.`));
  const actions: CodeAction[] = [];
  if (wants("quickfix")) {
    for (const { finding, diagnostic } of underCursor(document, range, options.diagnostics)) {
      actions.push(
        ...fixesFor(document, finding, diagnostic, options),
        waiver(document, finding, diagnostic, options),
      );
    }
  }
  if (wants(FIX_ALL_KIND) && (options.only.length > 0 || actions.some((action) => action.isPreferred))) {
    // It may run at every save: a change of the amplifier, which hides what is wrong with it, is never among these.
    const action = fixAll(
      document,
      document.result.findings.filter(({ rule }) => isWriting(rule)),
      "Put right what is only written wrong in this file",
      FIX_ALL_KIND,
      options,
    );
    if (action) actions.push(action);
  }
  if (wants("refactor.extract")) {
    const extracted = extractBlock(document, range);
    if (extracted) {
      actions.push({
        title: extracted.title,
        kind: "refactor.extract",
        edit: { changes: { [options.uriOf(document.file)]: [...extracted.edits] } },
      });
    }
  }
  return actions;
}

function underCursor(document: CheckedDocument, range: LspRange, diagnostics: readonly Diagnostic[]) {
  const from = toOffset(document, range.start);
  const to = toOffset(document, range.end);
  return document.result.findings
    .filter(
      ({ place, waived }) =>
        place.file === document.file && !waived && place.range.start <= to && place.range.end >= from,
    )
    .map((finding) => ({
      finding,
      diagnostic: diagnostics.find(
        ({ data }) => (data as DiagnosticData | undefined)?.finding === findingKey(finding),
      ),
    }));
}

function fixesFor(
  document: CheckedDocument,
  finding: Finding,
  diagnostic: Diagnostic | undefined,
  options: ActionOptions,
): CodeAction[] {
  // Reading the fix tries it: it is only there when it removes its finding and adds none.
  const { fix } = finding;
  if (fix === undefined) return [];
  const own: CodeAction = {
    title: fix.title,
    kind: "quickfix",
    isPreferred: true,
    ...(diagnostic ? { diagnostics: [diagnostic] } : {}),
    edit: { changes: changesOf(document, fix.edits, options) },
  };
  const alike = document.result.findings.filter((other) => other.rule === finding.rule && !other.waived);
  const all =
    alike.length > 1
      ? fixAll(document, alike, `Make every checked fix of ${finding.rule}`, "quickfix", options)
      : undefined;
  return all ? [own, all] : [own];
}

/** Every fix that goes together with those before it; two that overlap wait for the next pass. */
function fixAll(
  document: CheckedDocument,
  findings: readonly Finding[],
  title: string,
  kind: string,
  options: ActionOptions,
): CodeAction | undefined {
  const edits: Fix["edits"][number][] = [];
  for (const finding of findings) {
    const { fix } = finding;
    if (finding.waived || fix === undefined) continue;
    if (applyEdits(document.result.sources, [...edits, ...fix.edits])) edits.push(...fix.edits);
  }
  if (edits.length === 0) return undefined;
  return { title, kind, edit: { changes: changesOf(document, edits, options) } };
}

function changesOf(
  document: CheckedDocument,
  edits: Fix["edits"],
  options: ActionOptions,
): Record<string, TextEdit[]> {
  const changes: Record<string, TextEdit[]> = {};
  for (const { place, text } of edits) {
    const uri = options.uriOf(place.file);
    changes[uri] = [...(changes[uri] ?? []), { range: placeRange(document.result, place), newText: text }];
  }
  return changes;
}

/** The waiver goes behind the finding's statement, with a reason still to be written. */
function waiver(
  document: CheckedDocument,
  finding: Finding,
  diagnostic: Diagnostic | undefined,
  options: ActionOptions,
): CodeAction {
  const on = finding.on[0] === undefined ? "" : ` on ${finding.on[0]}`;
  const lastLine = document.tree.lineStarts.length - 1;
  const end = toRange(document, { start: document.text.length, end: document.text.length }).end;
  const emptyLast = document.tree.lineStarts[lastLine] === document.text.length;
  return {
    title: `Waive ${finding.rule}${on}, with a reason`,
    kind: "quickfix",
    ...(diagnostic ? { diagnostics: [diagnostic] } : {}),
    edit: {
      changes: {
        [options.uriOf(document.file)]: [
          {
            range: { start: end, end },
            newText: `${emptyLast ? "" : "\n"}waive ${finding.rule}${on} because "say why"\n`,
          },
        ],
      },
    },
  };
}

/** First and last line that a range touches. */
export function linesOf(
  document: CheckedDocument,
  range: LspRange,
): { readonly first: number; readonly last: number } {
  const from = toOffset(document, range.start);
  const to = toOffset(document, range.end);
  return {
    first: lineAt(document.tree.lineStarts, from),
    last: lineAt(document.tree.lineStarts, Math.max(from, to - 1)),
  };
}
