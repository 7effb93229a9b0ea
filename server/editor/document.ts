/** A text with everything known of it, as the editor's features need it. Immutable; one per document version. */
import type { Range as LspRange, Position } from "vscode-languageserver-types";
import { offsetAt, positionAt } from "../../grammar/positions.ts";
import type { Range, Tree } from "../../grammar/tree.ts";
import type { CheckResult } from "../check.ts";
import type { Place } from "../circuit/model.ts";
import { type Occurrence, occurrencesOf } from "./occurrences.ts";

export interface CheckedDocument {
  /** The file's key in the check's result; places in other files are those of includes. */
  readonly file: string;
  readonly text: string;
  readonly tree: Tree;
  /** The check in which this document stands: of the document itself, or of the amplifier that includes it. */
  readonly result: CheckResult;
  /** Every name in the text with its role, sorted by place. */
  readonly occurrences: readonly Occurrence[];
}

/** @param file the key of one of `result.sources`; its text must be there. */
export function checkedDocument(result: CheckResult, file: string = result.file): CheckedDocument {
  const source = result.sources.get(file);
  if (source === undefined) throw new RangeError(`${file} is not among the files of this check`);
  return new Checked(file, source.text, source.tree, result);
}

class Checked implements CheckedDocument {
  private all: readonly Occurrence[] | undefined;
  constructor(
    readonly file: string,
    readonly text: string,
    readonly tree: CheckedDocument["tree"],
    readonly result: CheckResult,
  ) {}
  /** Tens of thousands in a text of thousands of parts, of which a hover needs one. */
  get occurrences(): readonly Occurrence[] {
    this.all ??= occurrencesOf(this.tree.statements);
    return this.all;
  }
}

/** Offsets to line and character (UTF-16), by the document's own line table. */
export function toRange(document: CheckedDocument, range: Range): LspRange {
  return {
    start: positionAt(document.tree.lineStarts, range.start),
    end: positionAt(document.tree.lineStarts, range.end),
  };
}

export function toOffset(document: CheckedDocument, position: Position): number {
  return offsetAt(document.tree.lineStarts, position, document.text);
}

/** The range of a place in whichever file it stands. */
export function placeRange(result: CheckResult, place: Place): LspRange {
  const source = result.sources.get(place.file);
  if (source === undefined) return { start: { line: 0, character: 0 }, end: { line: 0, character: 0 } };
  return {
    start: positionAt(source.tree.lineStarts, place.range.start),
    end: positionAt(source.tree.lineStarts, place.range.end),
  };
}

/** The names of every statement that reaches into a stretch of the text, its ends included, sorted by place. */
export function occurrencesBetween(
  { tree }: Pick<CheckedDocument, "tree">,
  start: number,
  end: number,
): readonly Occurrence[] {
  return occurrencesOf(tree.statements.filter(({ range }) => range.start <= end && range.end >= start));
}

/** The name under an offset; at the seam of two, the one that ends there counts only when none begins there. */
export function occurrenceAt(document: CheckedDocument, offset: number): Occurrence | undefined {
  let ending: Occurrence | undefined;
  for (const occurrence of occurrencesBetween(document, offset, offset)) {
    if (occurrence.range.start > offset) break;
    if (offset < occurrence.range.end) return occurrence;
    if (offset === occurrence.range.end) ending = occurrence;
  }
  return ending;
}
