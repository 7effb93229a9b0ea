/** A file of valve types of the user's own: from text to sound types with their laws, with every mistake at its place. */
import { findNodeAtLocation, type Node, type ParseError, parseTree } from "jsonc-parser";
import { lineStartsOf, positionAt } from "../../grammar/positions.ts";
import type { ValveFile } from "../facts/valves/file.ts";
import type { FitsFile } from "../facts/valves/fit-file.ts";
import type { OwnValves } from "../facts/valves/own.ts";
import { userValves } from "../facts/valves/user.ts";
import { fitsOf } from "../physics/laws/fit/own.ts";
import type { ConfigProblem } from "./read.ts";
import { jsonValue, syntaxProblems } from "./text.ts";

/** The file of a published type, by its name: for a section that is said to be like it. */
export type Published = (type: string) => ValveFile | undefined;

/** Keeps the laws that were fitted to a file's text from one run to the next. */
export interface FitStore {
  find(text: string): FitsFile | undefined;
  keep(text: string, fits: FitsFile): void;
}

export interface ReadValves extends OwnValves {
  readonly problems: readonly ConfigProblem[];
}

/** Fitting costs a second; the same text gives the same laws. */
const known = new Map<string, Pick<ReadValves, "valves" | "fits">>();
const mostKnown = 50;

/**
 * @param file key of the text, for the problems
 * @param text JSON (comments and trailing commas are taken): one valve, a list of them, or `{ "valves": [...] }`
 */
export function readValves(file: string, text: string, published: Published, store?: FitStore): ReadValves {
  const lineStarts = lineStartsOf(text);
  const problem = (from: number, length: number, message: string): ConfigProblem => ({
    file,
    range: { start: positionAt(lineStarts, from), end: positionAt(lineStarts, from + length) },
    message,
  });
  const nothing = (problems: readonly ConfigProblem[]): ReadValves => ({ valves: [], fits: {}, problems });
  if (text.trim() === "") return nothing([problem(0, 0, "an empty file, where valve types were expected")]);
  const errors: ParseError[] = [];
  const tree = parseTree(text, errors, { allowTrailingComma: true });
  if (errors.length > 0 || !tree) return nothing(syntaxProblems(errors, problem));
  const { valves, problems } = userValves(jsonValue(tree));
  if (problems.length > 0)
    return nothing(
      problems.map(({ field, path, key, message }) => {
        const { offset, length } = nodeAt(tree, path, key === true);
        return problem(offset, length, field === "" ? message : `${field}: ${message}`);
      }),
    );
  let read = known.get(text);
  if (!read) {
    let fits = store?.find(text);
    if (!fits) {
      fits = fitsOf(valves, published);
      store?.keep(text, fits);
    }
    read = { valves, fits };
    if (known.size >= mostKnown) known.clear();
    known.set(text, read);
  }
  return { ...read, problems: [] };
}

/** What is missing is marked where it should stand. */
function nodeAt(tree: Node, path: readonly PropertyKey[], key: boolean): Node {
  for (let length = path.length; length > 0; length--) {
    const node = findNodeAtLocation(tree, path.slice(0, length) as (string | number)[]);
    if (node) return key && node.parent?.children ? node.parent.children[0] : node;
  }
  return tree;
}
