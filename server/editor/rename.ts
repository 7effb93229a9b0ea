/** Renaming a net, a part or a block wherever it is named. Refused where it would join what is apart. */
import type { Range as LspRange, Position, TextEdit } from "vscode-languageserver-types";
import { type CheckedDocument, placeRange, toOffset } from "./document.ts";
import { everywhere, type Target, targetAt } from "./navigate.ts";

export type RenameResult =
  | { readonly edits: ReadonlyMap<string, readonly TextEdit[]> }
  /** Why it cannot be done, for the person who asked. */
  | { readonly refused: string };

const NET_NAME = /^[A-Za-z][A-Za-z0-9_+]*$/;
const REFERENCE = /^[A-Za-z][A-Za-z0-9_]*$/;
const FIXED = new Set(["gnd", "chassis"]);

/** The range that would be renamed and its present name; undefined where nothing can be. */
export function prepareRename(
  document: CheckedDocument,
  position: Position,
): { readonly range: LspRange; readonly placeholder: string } | undefined {
  const offset = toOffset(document, position);
  const target = targetAt(document, offset);
  if (target === undefined || (target.kind === "net" && FIXED.has(target.name))) return undefined;
  const here = target.places.find(
    ({ file, range }) => file === document.file && range.start <= offset && offset <= range.end,
  );
  return here && { range: placeRange(document.result, here), placeholder: writtenName(document, target) };
}

export function rename(document: CheckedDocument, position: Position, newName: string): RenameResult {
  const target = targetAt(document, toOffset(document, position));
  if (target === undefined) return { refused: "There is no net, part or block here to rename." };
  const refused = refusal(document, target, newName);
  if (refused) return { refused };
  const edits = new Map<string, TextEdit[]>();
  for (const place of target.places) {
    const list = edits.get(place.file) ?? [];
    list.push({ range: placeRange(document.result, place), newText: newName });
    edits.set(place.file, list);
  }
  return { edits };
}

/** The name as it stands in the text: inside a block without its prefix. */
function writtenName(document: CheckedDocument, target: Target): string {
  const place = target.places[0];
  return (
    document.result.sources.get(place.file)?.text.slice(place.range.start, place.range.end) ?? target.name
  );
}

function refusal(document: CheckedDocument, target: Target, newName: string): string | undefined {
  const { circuit } = document.result;
  if (target.kind === "net") {
    if (FIXED.has(target.name)) return `${target.name} has a fixed meaning and keeps its name.`;
    if (FIXED.has(newName))
      return `${newName} has a fixed meaning: renaming ${target.name} to it would join the two nets.`;
    if (!NET_NAME.test(newName))
      return `${newName} is no net name: a letter first, then letters, digits, _ and +.`;
    const taken = circuit.netByName.get(newName);
    if (newName !== target.name && taken !== undefined)
      return `${newName} is a net already: renaming ${target.name} to it would join the two nets.`;
    const inSameText = everywhere(document).some(
      ({ occurrence }) => occurrence.role === "net" && occurrence.text === newName,
    );
    if (newName !== writtenName(document, target) && inSameText)
      return `${newName} is used as a net already: renaming to it would join the two nets.`;
    return undefined;
  }
  if (!REFERENCE.test(newName))
    return `${newName} is no name for a ${target.kind}: a letter first, then letters, digits and _.`;
  if (target.kind === "part" && newName !== target.name && circuit.partByReference.has(newName))
    return `${newName} is another part already.`;
  if (target.kind === "block" && newName !== target.name) {
    const taken = everywhere(document).some(
      ({ occurrence }) => occurrence.role === "block" && occurrence.text === newName,
    );
    if (taken) return `${newName} is another block already.`;
  }
  return undefined;
}
