/** What the editor shows when the pointer rests on a word. One function; each role has a file in `hover/`. */
import type { Hover, Position } from "vscode-languageserver-types";
import { type CheckedDocument, occurrenceAt, occurrencesBetween, toOffset, toRange } from "./document.ts";
import { hoverMains } from "./hover/mains.ts";
import { hoverNet } from "./hover/net.ts";
import { hoverNumber } from "./hover/number.ts";
import { hoverPart } from "./hover/part.ts";
import { hoverRule } from "./hover/rule.ts";
import { hoverWord } from "./hover/word.ts";
import type { Occurrence } from "./occurrences.ts";
import { resolveNet, resolveReference, sectionOf } from "./resolve.ts";

/** @returns undefined where there is nothing to say. */
export function hover(document: CheckedDocument, position: Position): Hover | undefined {
  const occurrence = occurrenceAt(document, toOffset(document, position));
  if (occurrence === undefined) return undefined;
  const value = textOf(document, occurrence);
  if (value === undefined || value === "") return undefined;
  return { contents: { kind: "markdown", value }, range: toRange(document, occurrence.range) };
}

function textOf(document: CheckedDocument, occurrence: Occurrence): string | undefined {
  const { circuit } = document.result;
  switch (occurrence.role) {
    case "net": {
      const net = resolveNet(circuit, occurrence);
      if (net !== undefined) return hoverNet(document.result, net);
      const part = resolveReference(circuit, occurrence);
      return part && hoverPart(document.result, part);
    }
    case "reference":
    case "type":
    case "kind": {
      const named = occurrence.role === "reference" ? occurrence : followingReference(document, occurrence);
      const part = named && resolveReference(circuit, named);
      if (occurrence.role === "kind" || part === undefined) return hoverWord(occurrence);
      return hoverPart(document.result, part);
    }
    case "row": {
      const part = resolveReference(circuit, { ...occurrence, text: occurrence.owner ?? "" });
      if (part === undefined) return undefined;
      const row = part.kind === "valve" ? sectionOf(circuit, part, occurrence.text) : occurrence.text;
      return hoverPart(document.result, part, row);
    }
    case "number":
      return occurrence.kind === "mains" ? hoverMains(circuit.mains) : hoverNumber(occurrence);
    case "region":
      return hoverMains(circuit.mains);
    case "rule":
      return hoverRule(occurrence.text);
    default:
      return hoverWord(occurrence);
  }
}

function followingReference(document: CheckedDocument, occurrence: Occurrence): Occurrence | undefined {
  if (occurrence.owner) return { ...occurrence, role: "reference", text: occurrence.owner };
  const { start, end } = occurrence.range;
  const near = occurrencesBetween(document, start, end);
  const next = near[near.findIndex(({ range }) => range.start === start) + 1];
  return next?.role === "reference" ? next : undefined;
}
