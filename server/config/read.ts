/** One configuration file: from text to settings, with every mistake told at its place. */
import { closest, distance } from "fastest-levenshtein";
import { findNodeAtLocation, type Node, type ParseError, parseTree } from "jsonc-parser";
import { lineStartsOf, type Position, positionAt } from "../../grammar/positions.ts";
import type { Rule } from "../rules/rule.ts";
import { type Config, configSchema } from "./schema.ts";
import { jsonValue, syntaxProblems } from "./text.ts";

export interface ConfigProblem {
  readonly file: string;
  readonly range: { readonly start: Position; readonly end: Position };
  readonly message: string;
}

export interface ReadConfig {
  /** Absent when a problem is in the way of using any of it. */
  readonly config?: Config;
  readonly problems: readonly ConfigProblem[];
  /** A problem at a setting, for what only its user can see: a file that isn't there. */
  readonly problemAt?: (path: readonly (string | number)[], message: string) => ConfigProblem;
}

/**
 * @param file key of the text, for the problems
 * @param text JSON; comments and trailing commas are taken
 * @param rules the catalogue that severities are named by
 */
export function readConfig(
  file: string,
  text: string,
  rules: readonly Pick<Rule, "id" | "severity">[],
): ReadConfig {
  const lineStarts = lineStartsOf(text);
  const problem = (from: number, length: number, message: string): ConfigProblem => ({
    file,
    range: { start: positionAt(lineStarts, from), end: positionAt(lineStarts, from + length) },
    message,
  });
  if (text.trim() === "")
    return { problems: [problem(0, 0, "an empty file; an empty configuration is written {}")] };
  const errors: ParseError[] = [];
  const tree = parseTree(text, errors, { allowTrailingComma: true });
  if (errors.length > 0 || !tree) return { problems: syntaxProblems(errors, problem) };

  const at = (path: readonly PropertyKey[], key: boolean): Node => {
    for (let length = path.length; length > 0; length--) {
      const node = findNodeAtLocation(tree, path.slice(0, length) as (string | number)[]);
      // A wrong key is marked itself, a wrong value is marked itself; what is missing is marked where it should stand.
      if (node)
        return key && length === path.length && node.parent?.type === "property"
          ? node.parent.children![0]
          : node;
    }
    return tree;
  };
  const parsed = configSchema.safeParse(jsonValue(tree));
  if (!parsed.success)
    return {
      problems: parsed.error.issues.flatMap((issue) => {
        if (issue.code !== "unrecognized_keys") {
          const node = at(issue.path, false);
          return [
            problem(node.offset, node.length, `${issue.path.join(".") || "the file"}: ${issue.message}`),
          ];
        }
        return issue.keys.map((name) => {
          const node = at([...issue.path, name], true);
          const known = Object.keys(issue.path.length > 0 ? overrideShape : configSchema.shape);
          return problem(node.offset, node.length, `no setting is called "${name}"${meant(name, known)}`);
        });
      }),
    };

  const problems: ConfigProblem[] = [];
  const ids = new Map(rules.map((rule) => [rule.id, rule]));
  const families = new Set(rules.map(({ id }) => id.split("/")[0]));
  const names = (path: (string | number)[], severity: Config["severity"]) => {
    for (const [name, wish] of Object.entries(severity ?? {})) {
      const node = at([...path, "severity", name], true);
      const rule = ids.get(name);
      if (!rule && !families.has(name))
        problems.push(
          problem(
            node.offset,
            node.length,
            `no rule or family is called "${name}"${meant(name, [...ids.keys(), ...families])}`,
          ),
        );
      else if (rule?.severity === "error" && wish !== "error" && /^(mains|earth)\//.test(name))
        problems.push(
          problem(
            node.offset,
            node.length,
            `${name} stays an error: what can kill is waived in the netlist, with a reason (waive ${name} because "…"), or not at all`,
          ),
        );
    }
  };
  names([], parsed.data.severity);
  for (const [index, { severity }] of (parsed.data.overrides ?? []).entries())
    names(["overrides", index], severity);
  const problemAt: ReadConfig["problemAt"] = (path, message) => {
    const node = at(path, false);
    return problem(node.offset, node.length, message);
  };
  return { config: parsed.data, problems, problemAt };
}

const overrideShape = configSchema.shape.overrides.unwrap().element.shape;

function meant(name: string, known: readonly string[]): string {
  const short = known.find((id) => id.split("/")[1] === name);
  if (short) return `; meant: "${short}"?`;
  if (known.length === 0) return "";
  const near = closest(name, known as string[]);
  return distance(near, name) <= Math.max(2, name.length / 3) ? `; meant: "${near}"?` : "";
}
