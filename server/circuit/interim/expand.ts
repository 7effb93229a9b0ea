/** From trees to a flat list of statements: includes read in, blocks set out once per use, each with its scope. */
import { parse } from "../../../grammar/parse.ts";
import { didYouMean } from "../../../grammar/near.ts";
import type { BlockStatement, Statement, Tree, UseStatement, Word } from "../../../grammar/tree.ts";
import type { CircuitProblem, Place } from "../model.ts";

/** Where a name is looked up: inside a used block its own names carry the prefix, save what was passed in. */
export interface Scope {
  readonly prefix: string;
  /** Parameter -> the outer name passed for it, already outer. */
  readonly passed: ReadonlyMap<string, string>;
}

export const OUTER: Scope = { prefix: "", passed: new Map() };
const SHARED = new Set(["gnd", "chassis"]);

/** The circuit-wide name of a word in a scope; a dotted word's first piece decides. */
export function nameIn(scope: Scope, text: string): string {
  if (scope === OUTER || SHARED.has(text)) return text;
  const dot = text.indexOf(".");
  const head = dot < 0 ? text : text.slice(0, dot);
  const passed = scope.passed.get(text) ?? scope.passed.get(head);
  if (scope.passed.has(text)) return passed as string;
  if (passed !== undefined) return passed + text.slice(dot);
  return `${scope.prefix}.${text}`;
}

export interface Placed {
  readonly statement: Exclude<Statement, BlockStatement | UseStatement | { readonly node: "include" }>;
  readonly file: string;
  readonly scope: Scope;
}

export interface Expansion {
  readonly statements: readonly Placed[];
  readonly sources: ReadonlyMap<string, { readonly text: string; readonly tree: Tree }>;
  readonly problems: readonly CircuitProblem[];
  /** Arguments of `use`, each one a use of that net: the outer name and its place. */
  readonly argumentPlaces: readonly { readonly name: string; readonly place: Place }[];
}

const DEEPEST = 16;
const MOST_STATEMENTS = 200_000;

export function expand(file: string, text: string, tree: Tree, read?: (file: string) => string | undefined): Expansion {
  const statements: Placed[] = [];
  const sources = new Map([[file, { text, tree }]]);
  const problems: CircuitProblem[] = [];
  const argumentPlaces: { name: string; place: Place }[] = [];
  const blocks = new Map<string, { readonly block: BlockStatement; readonly file: string }>();
  const uses: { readonly use: UseStatement; readonly file: string }[] = [];
  const open: string[] = [];
  const problem = (rule: string, message: string, at: Word, inFile: string, on: string[] = []) =>
    problems.push({ rule, message, place: { file: inFile, range: at.range }, on });

  const bring = (name: string, from: Tree) => {
    open.push(name);
    for (const statement of from.statements) {
      if (statement.node === "include") include(statement.file, name);
      else if (statement.node === "block") {
        const known = blocks.get(statement.name.text);
        if (known)
          problem("circuit/duplicate-reference", `There are two blocks called ${statement.name.text}; the first is used.`, statement.name, name, [statement.name.text]);
        else blocks.set(statement.name.text, { block: statement, file: name });
      } else if (statement.node === "use") uses.push({ use: statement, file: name });
      else statements.push({ statement, file: name, scope: OUTER });
    }
    open.pop();
  };

  function include(written: Word, from: string): void {
    const target = resolvePath(file, from, written.text);
    if (target === undefined)
      return void problem("circuit/include", `${written.text} lies outside this file's folder; only files of the same folder tree are brought in.`, written, from);
    if (open.includes(target))
      return void problem("circuit/include", `${written.text} includes itself, by way of ${open.length > 1 ? open.slice(1).join(", ") : "this file"}.`, written, from);
    if (sources.has(target))
      return void problem("circuit/include", `${written.text} is brought in already; the second time is passed over.`, written, from);
    const found = read?.(target);
    if (found === undefined)
      return void problem("circuit/include", `There is no file ${written.text} to bring in.`, written, from);
    const included = parse(found);
    sources.set(target, { text: found, tree: included });
    bring(target, included);
  }

  function setOut(use: UseStatement, inFile: string, scope: Scope, depth: number): void {
    const found = blocks.get(use.name.text);
    if (found === undefined) {
      const hint = didYouMean(use.name.text, blocks.keys());
      return void problem("circuit/unknown-block", `There is no block called ${use.name.text}.${hint}`, use.name, inFile, [use.name.text]);
    }
    if (use.prefix === undefined)
      return void problem("circuit/syntax", `A use of a block needs a name of its own: use ${use.name.text}(…) as N.`, use.name, inFile);
    const { parameters } = found.block;
    if (use.arguments.length !== parameters.length)
      problem("circuit/block-arguments", `Block ${use.name.text} takes ${parameters.length} (${parameters.map((word) => word.text).join(", ")}), and ${use.arguments.length} are given.`, use.name, inFile, [use.name.text]);
    if (depth > DEEPEST) return void problem("circuit/block-arguments", `Block ${use.name.text} uses itself.`, use.name, inFile);
    const passed = new Map<string, string>();
    parameters.forEach((parameter, index) => {
      const argument = use.arguments[index];
      if (argument === undefined) return;
      const name = nameIn(scope, argument.text);
      passed.set(parameter.text, name);
      argumentPlaces.push({ name, place: { file: inFile, range: argument.range } });
    });
    const inner: Scope = { prefix: nameIn(scope, use.prefix.text), passed };
    for (const statement of found.block.statements) {
      if (statement.node === "use") setOut(statement, found.file, inner, depth + 1);
      else if (statement.node !== "block" && statement.node !== "include" && statements.length < MOST_STATEMENTS)
        statements.push({ statement, file: found.file, scope: inner });
    }
  }

  bring(file, tree);
  for (const { use, file: inFile } of uses) setOut(use, inFile, OUTER, 0);
  return { statements, sources, problems, argumentPlaces };
}

/** The key of a file named beside another; undefined where it leaves the main file's folder. */
export function resolvePath(main: string, from: string, written: string): string | undefined {
  if (written === "" || /^([a-z]+:|[\\/])/i.test(written)) return undefined;
  const folder = from.slice(0, from.lastIndexOf("/") + 1);
  const root = main.slice(0, main.lastIndexOf("/") + 1);
  const pieces: string[] = [];
  for (const piece of (folder + written.replaceAll("\\", "/")).split("/")) {
    if (piece === "..") {
      if (pieces.length === 0 || pieces[pieces.length - 1] === "") return undefined;
      pieces.pop();
    } else if (piece !== ".") pieces.push(piece);
  }
  const target = pieces.join("/");
  return target.startsWith(root) ? target : undefined;
}
