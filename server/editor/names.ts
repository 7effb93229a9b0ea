/**
 * A name as it stands in its scope: the top of the amplifier, or one block. The same letters in another scope are another
 * name, and a name of a block is reached from outside through the prefix of a use (`N.k1`, `N.R1.a`).
 */
import type { Statement } from "../../grammar/tree.ts";
import { KeptWith } from "../circuit/kept-with.ts";
import type { Place } from "../circuit/model.ts";
import type { CheckedDocument } from "./document.ts";
import { everywhere } from "./navigate.ts";
import type { Occurrence } from "./occurrences.ts";

export interface Name {
  readonly kind: "net" | "part" | "block";
  readonly text: string;
  /** The block that it belongs to; absent at the top. */
  readonly block?: string;
  /** The name as written, without what stands before or behind it. */
  readonly places: readonly Place[];
}

interface Use {
  readonly block: string;
  readonly prefix: string;
  /** The block that the use stands in; absent at the top. */
  readonly within?: string;
}

/** How deep blocks are looked into. */
const DEEPEST = 16;

/** The name under an offset, with every place that writes it; undefined on words that name nothing of the file's own. */
export function nameAt(document: CheckedDocument, offset: number): Name | undefined {
  const all = everywhere(document);
  const here = all.find(
    ({ file, occurrence: { range } }) =>
      file === document.file && range.start <= offset && offset < range.end,
  );
  const before = all.find(
    ({ file, occurrence: { range } }) => file === document.file && range.end === offset,
  );
  const found = isName(here?.occurrence) ? here : isName(before?.occurrence) ? before : undefined;
  if (!found) return undefined;
  const { occurrence } = found;
  if (occurrence.role === "block") {
    const same = all.filter(
      (one) => one.occurrence.role === "block" && one.occurrence.text === occurrence.text,
    );
    return {
      kind: "block",
      text: occurrence.text,
      places: same.map((one) => ({ file: one.file, range: one.occurrence.range })),
    };
  }
  const uses = usesOf(document);
  const at = segmentAt(occurrence, offset);
  if (at === undefined) return undefined;
  const owner = ownerOf(occurrence, at, uses);
  if (owner === undefined) return undefined;
  const text = occurrence.text.split(".")[at];
  const part = partLike(document, all, occurrence, at, owner.block);
  const places = all.flatMap(({ file, occurrence: other }) =>
    isName(other) && other.role !== "block"
      ? placesIn(document, all, other, text, owner.block, part, uses).map((range) => ({ file, range }))
      : [],
  );
  return { kind: part === "part" ? "part" : "net", text, ...owner, places };
}

/** Every name that stands in a scope as a net or a part, for telling what is taken. */
export function taken(document: CheckedDocument, name: Name, text: string): "net" | "part" | undefined {
  const all = everywhere(document);
  for (const { occurrence } of all) {
    if (!isName(occurrence) || occurrence.role === "block" || occurrence.block !== name.block) continue;
    if (occurrence.text.split(".")[0] !== text) continue;
    const kind = partLike(document, all, occurrence, 0, name.block);
    if (kind === name.kind || kind === "either") return name.kind === "part" ? "part" : "net";
  }
  return undefined;
}

function isName(occurrence: Occurrence | undefined): occurrence is Occurrence {
  return occurrence !== undefined && ["net", "reference", "block"].includes(occurrence.role);
}

/** Which piece between dots an offset is in. */
function segmentAt({ text, range }: Occurrence, offset: number): number | undefined {
  const within = text.slice(0, Math.max(0, offset - range.start));
  return within.split(".").length - 1;
}

/**
 * The scope that a piece of a dotted name belongs to: the occurrence's own for the first, the block's behind a use's prefix.
 * Undefined for a terminal or section of a part, and for the prefix itself.
 */
function ownerOf(
  { text, block }: Occurrence,
  at: number,
  uses: readonly Use[],
): { readonly block?: string } | undefined {
  const segments = text.split(".");
  let within = block;
  for (let index = 0; index < segments.length; index++) {
    const use = uses.find((one) => one.prefix === segments[index] && one.within === within);
    const isPrefix = use !== undefined && index < segments.length - 1;
    if (index === at) return isPrefix ? undefined : within === undefined ? {} : { block: within };
    if (!isPrefix) return undefined;
    within = use.block;
  }
  return undefined;
}

type Kind = "net" | "part" | "either";

/**
 * Whether a piece names a net or a part: `k1` in a path is a net, `R1` behind its kind a part, the first piece of
 * `V1.plate` a part. A reading and an argument may be of either, as the file has it; a parameter stands for both.
 */
function partLike(
  document: CheckedDocument,
  all: ReturnType<typeof everywhere>,
  { role, text, kind }: Occurrence,
  at: number,
  block: string | undefined,
): Kind {
  const segments = text.split(".");
  const name = segments[at];
  if (block !== undefined && parametersOf(document, block).has(name)) return "either";
  if (role === "reference" || at < segments.length - 1) return "part";
  if (kind !== "measured" && kind !== "argument")
    return at === 0 ? "net" : declared(all, name, block) ? "part" : "net";
  return declared(all, name, block) ? "part" : "net";
}

/** Whether a part of that reference is written in a scope. */
function declared(all: ReturnType<typeof everywhere>, name: string, block: string | undefined): boolean {
  return all.some(
    ({ occurrence }) =>
      occurrence.role === "reference" &&
      occurrence.declares === true &&
      occurrence.block === block &&
      occurrence.text.split(".")[0] === name,
  );
}

/** Ranges in an occurrence that write the name of that scope and kind. */
function placesIn(
  document: CheckedDocument,
  all: ReturnType<typeof everywhere>,
  occurrence: Occurrence,
  text: string,
  block: string | undefined,
  kind: Kind,
  uses: readonly Use[],
): { readonly start: number; readonly end: number }[] {
  if (!occurrence.text.includes(text)) return [];
  const segments = occurrence.text.split(".");
  let start = occurrence.range.start;
  for (const [at, segment] of segments.entries()) {
    const owner = segment === text ? ownerOf(occurrence, at, uses) : undefined;
    if (owner && owner.block === block && partLike(document, all, occurrence, at, block) === kind)
      return [{ start, end: start + segment.length }];
    start += segment.length + 1;
    if (at >= DEEPEST) break;
  }
  return [];
}

const kept = new KeptWith<
  object,
  { readonly uses: readonly Use[]; readonly parameters: Map<string, Set<string>> }
>();

function blocksOf(document: CheckedDocument) {
  const { sources } = document.result;
  let known = kept.get(sources);
  if (known) return known;
  const uses: Use[] = [];
  const parameters = new Map<string, Set<string>>();
  const walk = (statement: Statement, within: string | undefined) => {
    if (statement.node === "use" && statement.prefix)
      uses.push({ block: statement.name.text, prefix: statement.prefix.text, within });
    if (statement.node !== "block") return;
    parameters.set(statement.name.text, new Set(statement.parameters.map((one) => one.text)));
    for (const inner of statement.statements) walk(inner, statement.name.text);
  };
  for (const { tree } of sources.values())
    for (const statement of tree.statements) walk(statement, undefined);
  known = { uses, parameters };
  kept.set(sources, known);
  return known;
}

const usesOf = (document: CheckedDocument): readonly Use[] => blocksOf(document).uses;
const none: ReadonlySet<string> = new Set();
const parametersOf = (document: CheckedDocument, block: string): ReadonlySet<string> =>
  blocksOf(document).parameters.get(block) ?? none;
