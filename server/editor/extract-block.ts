/** Turns whole selected statements into a block and a use of it: nets that also stand outside become its parameters. */
import type { Range as LspRange, TextEdit } from "vscode-languageserver-types";
import type { PartStatement, PathPart, Statement } from "../../grammar/tree.ts";
import { type CheckedDocument, toOffset, toRange } from "./document.ts";
import { occurrencesOf } from "./occurrences.ts";

const SHARED = new Set(["gnd", "chassis"]);

/** Statements that can stand in a block. */
function movable(statement: Statement): statement is Extract<Statement, { node: "part" | "path" }> {
  return statement.node === "part" || statement.node === "path";
}

/** @returns undefined where the selection is not whole part and path statements, or a part of it is named elsewhere. */
export function extractBlock(
  document: CheckedDocument,
  range: LspRange,
): { readonly title: string; readonly edits: readonly TextEdit[] } | undefined {
  const from = toOffset(document, range.start);
  const to = toOffset(document, range.end);
  const chosen = document.tree.statements.filter(
    ({ range: own }) => own.start >= from && own.end <= to && own.end > own.start,
  );
  if (chosen.length < 2 || !chosen.every(movable)) return undefined;
  const start = chosen[0].range.start;
  const end = chosen[chosen.length - 1].range.end;

  const inside = occurrencesOf(chosen);
  const outside = document.occurrences.filter(
    (occurrence) => occurrence.range.end <= start || occurrence.range.start >= end,
  );
  const references = new Set(partsOf(chosen).map((part) => part.reference?.text));
  // A part that is spoken of elsewhere would change its name: the person has to decide that.
  const spokenOf = outside.some(
    ({ role, text }) => (role === "net" || role === "reference") && references.has(text.split(".")[0]),
  );
  if (spokenOf) return undefined;

  const names = (list: typeof inside) =>
    new Set(list.filter(({ role }) => role === "net").map(({ text }) => text));
  const outer = names(outside);
  const passed = [...names(inside)].filter(
    (name) => outer.has(name) && !SHARED.has(name) && !name.includes("."),
  );
  if ([...names(inside)].some((name) => name.includes(".") && !references.has(name.split(".")[0])))
    return undefined;

  const name = freeName(document, "stage");
  const prefix = freeName(document, "S");
  const body = document.text
    .slice(start, end)
    .split(/\r\n|\r|\n/)
    .map((line) => (line.trim() === "" ? line : `  ${line}`))
    .join("\n");
  const block = `block ${name}(${passed.join(", ")}) {\n${body}\n}\n\nuse ${name}(${passed.join(", ")}) as ${prefix}`;
  return {
    title: `Make a block of ${chosen.length} statements`,
    edits: [{ range: toRange(document, { start, end }), newText: block }],
  };
}

function partsOf(
  statements: readonly Extract<Statement, { node: "part" | "path" }>[],
): (PartStatement | PathPart)[] {
  return statements.flatMap((statement) => (statement.node === "path" ? [...statement.parts] : [statement]));
}

function freeName(document: CheckedDocument, stem: string): string {
  const taken = new Set(document.occurrences.map(({ text }) => text));
  let number = 1;
  while (taken.has(`${stem}${number}`)) number++;
  return `${stem}${number}`;
}
