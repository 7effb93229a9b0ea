/**
 * Statements of every file and used block in one list, in the order in which they take effect, each with its scope.
 * Includes are read here, blocks found, uses unrolled; nothing is resolved yet.
 */
import { parse } from "../../grammar/parse.ts";
import type {
  BlockStatement,
  IncludeStatement,
  Range,
  Statement,
  Tree,
  UseStatement,
  Word,
} from "../../grammar/tree.ts";
import { includePath } from "./include-path.ts";
import { near, type Problems, problem } from "./problems.ts";
import type { Argument, Scope } from "./scope.ts";

export type ReadFile = (file: string) => string | undefined;
export type Sources = ReadonlyMap<string, { readonly text: string; readonly tree: Tree }>;

export interface Placed {
  readonly statement: Exclude<Statement, BlockStatement | IncludeStatement>;
  readonly scope: Scope;
  /** Of a `use`: arguments that stand for nets. */
  readonly nets?: readonly Argument[];
}

export interface Expanded {
  readonly placed: readonly Placed[];
  readonly sources: Sources;
  readonly problems: Problems;
  /** `N` of every `use … as N`, prefix of the use's own scope included. */
  readonly prefixes: ReadonlySet<string>;
}

interface Block {
  readonly statement: BlockStatement;
  readonly file: string;
  /** Parameters that the block uses as parts or sections; found when first asked for. */
  references?: ReadonlySet<string>;
}

/** Parts that uses may unroll to, over all: a slip must not fill the memory. */
const mostStatements = 200_000;

export function expand(main: string, text: string, tree: Tree, read: ReadFile | undefined): Expanded {
  return new Expansion(main, text, tree, read).run();
}

class Expansion {
  private readonly sources = new Map<string, { text: string; tree: Tree }>();
  private readonly problems: Problems = [];
  private readonly placed: Placed[] = [];
  private readonly prefixes = new Set<string>();
  private readonly blocks = new Map<string, Block>();
  /** Files being read, outermost first. */
  private readonly reading: string[] = [];
  /** Where each file was included first. */
  private readonly included = new Map<string, { file: string; range: Range }>();
  private stopped = false;

  constructor(
    private readonly main: string,
    text: string,
    tree: Tree,
    private readonly read: ReadFile | undefined,
  ) {
    this.sources.set(main, { text, tree });
  }

  run(): Expanded {
    this.collect(this.main);
    this.statements(this.sources.get(this.main)!.tree.statements, { file: this.main, prefix: "" }, []);
    const { placed, sources, problems, prefixes } = this;
    return { placed, sources, problems, prefixes };
  }

  // ── files ────────────────────────────────────────────────────
  /** Reads a file's includes, theirs too, and finds every block: a block may be used above where it is written. */
  private collect(file: string): void {
    this.reading.push(file);
    for (const statement of this.sources.get(file)!.tree.statements) {
      if (statement.node === "include") this.include(file, statement);
      else if (statement.node === "block") this.block(file, statement);
    }
    this.reading.pop();
  }

  private include(from: string, statement: IncludeStatement): void {
    const { text: written, range } = statement.file;
    const tell = (message: string, related?: { file: string; range: Range }) =>
      this.problems.push(
        problem("circuit/include", message, from, range, [written], {
          related: related && [{ message: "included here first", place: related, on: written }],
        }),
      );
    const path = includePath(this.main, from, written);
    if ("wrong" in path) {
      if (path.wrong === "empty") tell("Expected the name of a file between the quotation marks.");
      else if (path.wrong === "absolute")
        tell(`${written} is no name within this folder: write it from this file's folder on.`);
      else
        tell(
          `${written} lies outside the folder of the main file. A netlist includes from its own folder and those inside it only.`,
        );
      return;
    }
    if (this.reading.includes(path.file)) {
      tell(
        path.file === from
          ? "A file cannot include itself."
          : `${written} includes this file, so each would bring in the other without end.`,
      );
      return;
    }
    const before = this.included.get(path.file);
    if (before) {
      tell(`${written} is included already; its parts are in the circuit once.`, before);
      return;
    }
    const text = this.read?.(path.file);
    if (text === undefined) {
      tell(
        `There is no file ${written} here: ${this.read ? "its parts are missing from the circuit" : "included files cannot be read here"}.`,
      );
      return;
    }
    this.included.set(path.file, { file: from, range });
    this.sources.set(path.file, { text, tree: parse(text) });
    this.collect(path.file);
  }

  private block(file: string, statement: BlockStatement): void {
    const name = statement.name.text;
    const before = this.blocks.get(name);
    if (before) {
      this.problems.push(
        problem(
          "circuit/duplicate-reference",
          `There is a block called ${name} already.`,
          file,
          statement.name.range,
          [name],
          {
            related: [
              {
                message: "the first one",
                place: { file: before.file, range: before.statement.name.range },
                on: name,
              },
            ],
          },
        ),
      );
      return;
    }
    const seen = new Set<string>();
    for (const parameter of statement.parameters) {
      if (seen.has(parameter.text)) {
        this.problems.push(
          problem(
            "circuit/duplicate-reference",
            `The block ${name} has two parameters called ${parameter.text}.`,
            file,
            parameter.range,
            [name],
          ),
        );
      }
      seen.add(parameter.text);
    }
    this.blocks.set(name, { statement, file });
    for (const inner of statement.statements) {
      if (inner.node !== "include") continue;
      this.problems.push(
        problem(
          "circuit/include",
          "A file is included once, outside of blocks: move this line above the block.",
          file,
          inner.range,
          [name],
        ),
      );
    }
  }

  // ── statements ───────────────────────────────────────────────
  /** @param within names of the blocks being unrolled, outermost first */
  private statements(statements: readonly Statement[], scope: Scope, within: readonly string[]): void {
    for (const statement of statements) {
      if (this.stopped) return;
      if (this.placed.length >= mostStatements) {
        this.stopped = true;
        this.problems.push(
          problem(
            "circuit/include",
            `The used blocks come to more than ${mostStatements} statements; the rest is left out.`,
            scope.file,
            statement.range,
            [],
          ),
        );
        return;
      }
      switch (statement.node) {
        case "block":
          break;
        case "include": {
          const path = includePath(this.main, scope.file, statement.file.text);
          if (!("file" in path)) break;
          const source = this.sources.get(path.file);
          const first = this.included.get(path.file);
          // Only where it was told to be brought in: a second include of it was told above.
          if (!source || first?.range !== statement.file.range) break;
          this.statements(source.tree.statements, { ...scope, file: path.file }, within);
          break;
        }
        case "use":
          this.use(statement, scope, within);
          break;
        default:
          this.placed.push({ statement, scope });
      }
    }
  }

  private use(statement: UseStatement, scope: Scope, within: readonly string[]): void {
    const { text: name, range } = statement.name;
    const tell = (rule: string, message: string, at: Range = range, more = {}) =>
      this.problems.push(problem(rule, message, scope.file, at, [name], more));
    const block = this.blocks.get(name);
    if (!block) {
      const { sentence, fix } = near(name, [...this.blocks.keys()], { file: scope.file, range }, "Blocks");
      tell("circuit/unknown-block", `There is no block called ${name}.${sentence}`, range, { fix });
      // What is passed in is named all the same.
      this.placed.push({
        statement,
        scope,
        nets: statement.arguments
          .filter((word) => !word.text.includes("."))
          .map((word) => ({ word, scope, isReference: false })),
      });
      return;
    }
    if (within.includes(name)) {
      tell("circuit/unknown-block", `The block ${name} uses itself, which would never end.`);
      return;
    }
    const { parameters } = block.statement;
    const given = statement.arguments;
    if (given.length !== parameters.length) {
      const wanted = `${name}(${parameters.map((one) => one.text).join(", ")})`;
      tell(
        "circuit/block-arguments",
        `${name} takes ${count(parameters.length)} and is given ${given.length}: ${wanted}.`,
        given.length > parameters.length ? given[parameters.length].range : statement.range,
        {
          related: [
            {
              message: "the block",
              place: { file: block.file, range: block.statement.name.range },
              on: name,
            },
          ],
        },
      );
    }
    if (!statement.prefix) {
      tell(
        "circuit/syntax",
        `Expected a name of its own for this stage: use ${name}(…) as N.`,
        statement.range,
      );
      return;
    }
    const prefix = `${scope.prefix}${statement.prefix.text}`;
    if (this.prefixes.has(prefix)) {
      this.problems.push(
        problem(
          "circuit/duplicate-reference",
          `There is a stage called ${statement.prefix.text} already.`,
          scope.file,
          statement.prefix.range,
          [prefix],
        ),
      );
      return;
    }
    this.prefixes.add(prefix);
    const references = this.referencesOf(block);
    const passed = new Map<string, Argument>();
    const nets: Argument[] = [];
    parameters.forEach((parameter, index) => {
      const word = given[index];
      if (!word || passed.has(parameter.text)) return;
      const argument = { word, scope, isReference: references.has(parameter.text) };
      passed.set(parameter.text, argument);
      if (!argument.isReference) nets.push(argument);
    });
    this.placed.push({ statement, scope, nets });
    this.statements(block.statement.statements, { file: block.file, prefix: `${prefix}.`, passed }, [
      ...within,
      name,
    ]);
  }

  /** Parameters that stand for parts: `valve v { … }`, `v.plate -- …`, or passed on to a block that takes them so. */
  private referencesOf(block: Block): ReadonlySet<string> {
    if (block.references) return block.references;
    const found = new Set<string>();
    block.references = found;
    const parameters = new Set(block.statement.parameters.map((one) => one.text));
    const first = (word: Word | undefined, whole: boolean) => {
      if (!word) return;
      const dot = word.text.indexOf(".");
      if (dot < 0 && !whole) return;
      const name = dot < 0 ? word.text : word.text.slice(0, dot);
      if (parameters.has(name)) found.add(name);
    };
    for (const statement of block.statement.statements) {
      switch (statement.node) {
        case "part":
          first(statement.reference, true);
          for (const item of statement.body?.items ?? []) {
            for (const net of item.nets) first(net, false);
            if (item.node === "row")
              for (const one of item.terminals) for (const net of one.nets) first(net, false);
          }
          break;
        case "path":
          for (const part of statement.parts) first(part.reference, true);
          for (const net of statement.nets) first(net, false);
          break;
        case "use": {
          const inner = this.blocks.get(statement.name.text);
          const taken = inner && this.referencesOf(inner);
          statement.arguments.forEach((word, index) => {
            const parameter = inner?.statement.parameters[index]?.text;
            first(word, parameter !== undefined && taken!.has(parameter));
          });
          break;
        }
      }
    }
    return found;
  }
}

function count(parameters: number): string {
  return parameters === 1 ? "one argument" : `${parameters} arguments`;
}
