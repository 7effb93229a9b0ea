/** Includes open their file; a waived rule opens its page. */
import type { DocumentLink } from "vscode-languageserver-types";
import type { Statement } from "../../grammar/tree.ts";
import { type CheckedDocument, toRange } from "./document.ts";

export interface LinkTargets {
  /** URI of the file that an include names, seen from this document. */
  readonly includeUri: (written: string) => string | undefined;
  readonly pageOf: (rule: string) => string | undefined;
}

export function documentLinks(document: CheckedDocument, targets: LinkTargets): DocumentLink[] {
  const links: DocumentLink[] = [];
  const walk = (statement: Statement) => {
    if (statement.node === "include") {
      const target = targets.includeUri(statement.file.text);
      if (target)
        links.push({
          range: toRange(document, statement.file.range),
          target,
          tooltip: "Open the included file",
        });
    } else if (statement.node === "waive") {
      const target = targets.pageOf(statement.rule.text);
      if (target)
        links.push({
          range: toRange(document, statement.rule.range),
          target,
          tooltip: "Read the rule's page",
        });
    } else if (statement.node === "block") statement.statements.forEach(walk);
  };
  document.tree.statements.forEach(walk);
  return links;
}
