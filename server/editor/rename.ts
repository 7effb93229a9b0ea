/**
 * Renaming a net, a part or a block wherever its name is written. A name is renamed in its own scope alone: what a block
 * calls the same net, or a terminal that sits on it, keeps its words. Every rename is tried before it is offered: the
 * circuit afterwards must be the one before.
 */
import type { Range as LspRange, Position, TextEdit } from "vscode-languageserver-types";
import { parse } from "../../grammar/parse.ts";
import { applyEdits } from "../check.ts";
import { buildCircuit } from "../circuit/build.ts";
import type { Circuit, NetIndex } from "../circuit/model.ts";
import { type CheckedDocument, placeRange, toOffset } from "./document.ts";
import { type Name, nameAt, taken } from "./names.ts";

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
  const name = nameAt(document, offset);
  if (name === undefined || (name.kind === "net" && FIXED.has(name.text))) return undefined;
  const here = name.places.find(
    ({ file, range }) => file === document.file && range.start <= offset && offset <= range.end,
  );
  return here && { range: placeRange(document.result, here), placeholder: name.text };
}

export function rename(document: CheckedDocument, position: Position, newName: string): RenameResult {
  const name = nameAt(document, toOffset(document, position));
  if (name === undefined) return { refused: "There is no net, part or block here to rename." };
  if (newName === name.text) return { edits: new Map() };
  const refused = refusal(document, name, newName) ?? changed(document, name, newName);
  if (refused) return { refused };
  const edits = new Map<string, TextEdit[]>();
  for (const place of name.places) {
    const edit = { range: placeRange(document.result, place), newText: newName };
    const list = edits.get(place.file);
    if (list) list.push(edit);
    else edits.set(place.file, [edit]);
  }
  return { edits };
}

function refusal(document: CheckedDocument, name: Name, newName: string): string | undefined {
  const { text, kind } = name;
  if (kind === "net") {
    if (FIXED.has(text)) return `${text} has a fixed meaning and keeps its name.`;
    if (FIXED.has(newName))
      return `${newName} has a fixed meaning: renaming ${text} to it would join the two nets.`;
    if (!NET_NAME.test(newName))
      return `${newName} is no net name: a letter first, then letters, digits, _ and +.`;
    if (taken(document, name, newName))
      return `${newName} is a net already: renaming ${text} to it would join the two nets.`;
    return undefined;
  }
  if (!REFERENCE.test(newName))
    return `${newName} is no name for a ${kind}: a letter first, then letters, digits and _.`;
  if (kind === "part" && taken(document, name, newName)) return `${newName} is another part already.`;
  if (kind === "block" && [...document.result.sources.values()].some(({ tree }) => hasBlock(tree, newName)))
    return `${newName} is another block already.`;
  return undefined;
}

const hasBlock = ({ statements }: CheckedDocument["tree"], name: string): boolean =>
  statements.some((one) => one.node === "block" && one.name.text === name);

/** What would be another circuit afterwards; undefined where it is the same. */
function changed(document: CheckedDocument, name: Name, newName: string): string | undefined {
  const { file, sources, circuit } = document.result;
  const texts = applyEdits(
    sources,
    name.places.map((place) => ({ place, text: newName })),
  );
  const main = texts?.get(file) ?? sources.get(file)?.text;
  if (!texts || main === undefined) return `${name.text} can't be renamed here: its places overlap.`;
  const after = buildCircuit(
    file,
    main,
    parse(main),
    (included) => texts.get(included) ?? sources.get(included)?.text,
    circuit.book,
  ).circuit;
  return joined(circuit, after, name.text, newName) ?? otherwise(circuit, after, name.text, newName);
}

/** Nets of before and after, paired by the terminals that sit on them. */
function joined(before: Circuit, after: Circuit, text: string, newName: string): string | undefined {
  const there = new Map<NetIndex, NetIndex>();
  const back = new Map<NetIndex, NetIndex>();
  for (const [index, part] of before.parts.entries()) {
    const other = after.parts[index];
    if (!other || other.kind !== part.kind || other.terminals.size !== part.terminals.size) break;
    for (const [terminal, net] of part.terminals) {
      const now = other.terminals.get(terminal);
      if (now === undefined) continue;
      const was = back.get(now);
      if (was !== undefined && was !== net)
        return `Renaming ${text} to ${newName} would join the nets ${before.nets[was].name} and ${before.nets[net].name}.`;
      const before1 = there.get(net);
      if (before1 !== undefined && before1 !== now)
        return `Renaming ${text} to ${newName} would part the net ${before.nets[net].name}.`;
      back.set(now, net);
      there.set(net, now);
    }
  }
  return undefined;
}

function otherwise(before: Circuit, after: Circuit, text: string, newName: string): string | undefined {
  const same =
    before.parts.length === after.parts.length &&
    before.parts.every(
      (part, index) =>
        part.kind === after.parts[index].kind && part.terminals.size === after.parts[index].terminals.size,
    ) &&
    before.measurements.length === after.measurements.length &&
    before.measurements.every(({ target }, index) => target.kind === after.measurements[index].target.kind);
  // The parser's own problems stand among the checked circuit's.
  const problems = before.problems.filter(({ rule }) => rule !== "circuit/syntax" && rule !== "circuit/unit");
  const now = after.problems.filter(({ rule }) => rule !== "circuit/syntax" && rule !== "circuit/unit");
  if (same && problems.length === now.length) return undefined;
  const told = now.find(({ message }) => !problems.some((one) => one.message === message));
  return `Renaming ${text} to ${newName} would change what the file means${told ? `: ${told.message}` : "."}`;
}
