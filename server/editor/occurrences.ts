/** Every name in a text with the role it plays there. Navigation, highlighting and tokens all read this one list. */
import type { BodyItem, Fact, PartStatement, PathPart, Range, Statement, Word } from "../../grammar/tree.ts";

export type Role =
  | "keyword"
  | "kind"
  | "reference"
  | "terminal"
  | "row"
  | "net"
  | "type"
  | "fact"
  | "label"
  | "number"
  | "block"
  | "prefix"
  | "rule"
  | "string"
  | "region"
  | "date"
  | "subject";

export interface Occurrence {
  readonly role: Role;
  readonly text: string;
  readonly range: Range;
  /** Declares the thing (a reference at its part, a block at its statement). */
  readonly declares?: boolean;
  /** The part's kind for a reference, a terminal, a row or a fact; `measured` or `argument` where a net may be a part. */
  readonly kind?: string;
  /** The part that a terminal, row, type or fact belongs to. */
  readonly owner?: string;
  /** Name of the block in whose statements it stands. */
  readonly block?: string;
}

interface Walk {
  readonly out: Occurrence[];
  readonly block?: string;
}

/** Sorted by place. */
export function occurrencesOf(statements: readonly Statement[]): readonly Occurrence[] {
  const out: Occurrence[] = [];
  for (const statement of statements) walkStatement(statement, { out });
  return out.sort((one, other) => one.range.start - other.range.start);
}

const nothing: Partial<Occurrence> = {};

function add(walk: Walk, role: Role, word: Word | undefined, more: Partial<Occurrence> = nothing): void {
  if (word === undefined || word.text === "") return;
  // Written out: a text of thousands of parts has tens of thousands of these, made anew at every key.
  walk.out.push({
    role,
    text: word.text,
    range: word.range,
    declares: more.declares,
    kind: more.kind,
    owner: more.owner,
    block: walk.block || undefined,
  });
}

function keyword(walk: Walk, statement: Statement, text: string): void {
  const start = statement.range.start;
  walk.out.push({ role: "keyword", text, range: { start, end: start + text.length } });
}

function walkFacts(walk: Walk, facts: readonly Fact[], kind: string, owner: string | undefined): void {
  let typeSeen = kind !== "valve";
  for (const fact of facts) {
    const more = { kind, owner };
    if (!typeSeen && fact.label === undefined) {
      typeSeen = true;
      add(walk, "type", { text: fact.text, range: fact.range }, more);
      continue;
    }
    if (fact.label) add(walk, "label", fact.label, more);
    const start = fact.label ? fact.label.range.end : fact.range.start;
    const isNumber = fact.quantity !== undefined || fact.series !== undefined || fact.fuse !== undefined;
    if (isNumber) {
      const gap = fact.text.length - fact.text.slice(start - fact.range.start).trimStart().length;
      const range = { start: fact.range.start + gap, end: fact.range.end };
      walk.out.push({
        role: "number",
        text: fact.text.slice(gap),
        range,
        declares: undefined,
        kind,
        owner,
        block: undefined,
      });
    } else if (fact.word) add(walk, "fact", fact.word, more);
  }
}

function walkItem(walk: Walk, item: BodyItem, kind: string, owner: string | undefined): void {
  const more = { kind, owner };
  if (item.node === "terminal") {
    add(walk, "terminal", item.terminal, more);
    for (const net of item.nets) add(walk, "net", net);
    walkFacts(walk, item.facts, `${kind} lead`, owner);
    return;
  }
  add(walk, "row", item.name, more);
  walkFacts(walk, item.facts, `${kind} row`, owner);
  for (const net of item.nets) add(walk, "net", net);
  for (const terminal of item.terminals) walkItem(walk, terminal, kind, owner);
}

function walkPart(walk: Walk, part: PartStatement | PathPart): void {
  const kind = part.kind.text;
  add(walk, "kind", part.kind);
  add(walk, "reference", part.reference, { declares: true, kind });
  walkFacts(walk, part.facts, kind, part.reference?.text);
  if ("body" in part && part.body)
    for (const item of part.body.items) walkItem(walk, item, kind, part.reference?.text);
}

function walkStatement(statement: Statement, walk: Walk): void {
  switch (statement.node) {
    case "amp":
      keyword(walk, statement, "amp");
      add(walk, "string", statement.name);
      return;
    case "mains":
      keyword(walk, statement, "mains");
      for (const fact of statement.facts) {
        if (fact.quantity) add(walk, "number", { text: fact.text, range: fact.range }, { kind: "mains" });
        else add(walk, "region", fact.word);
      }
      return;
    case "part":
      walkPart(walk, statement);
      return;
    case "path":
      for (const net of statement.nets) add(walk, "net", net);
      for (const part of statement.parts) walkPart(walk, part);
      return;
    case "metal":
      keyword(walk, statement, "metal");
      add(walk, "net", statement.net, { declares: true });
      walkFacts(walk, statement.facts, "metal", undefined);
      return;
    case "assume":
      keyword(walk, statement, "assume");
      add(walk, "subject", statement.subject);
      walkFacts(walk, statement.facts, "assume", undefined);
      return;
    case "measured":
      keyword(walk, statement, "measured");
      add(walk, statement.across ? "reference" : "net", statement.target, { kind: "measured" });
      if (statement.value) walkFacts(walk, [statement.value], "measured", undefined);
      if (statement.at) walkFacts(walk, [statement.at], "measured", undefined);
      return;
    case "waive":
      keyword(walk, statement, "waive");
      add(walk, "rule", statement.rule);
      add(walk, "reference", statement.on);
      add(walk, "string", statement.because);
      add(walk, "date", statement.until);
      return;
    case "include":
      keyword(walk, statement, "include");
      add(walk, "string", statement.file);
      return;
    case "block":
      keyword(walk, statement, "block");
      add(walk, "block", statement.name, { declares: true });
      for (const parameter of statement.parameters)
        add({ out: walk.out, block: statement.name.text }, "net", parameter);
      for (const inner of statement.statements)
        walkStatement(inner, { out: walk.out, block: statement.name.text });
      return;
    case "use":
      keyword(walk, statement, "use");
      add(walk, "block", statement.name);
      for (const argument of statement.arguments) add(walk, "net", argument, { kind: "argument" });
      add(walk, "prefix", statement.prefix, { declares: true });
      return;
  }
}
