/** What the editor needs of each kind of part, from the kinds' own files. */
import { kindDefinitions } from "../circuit/kinds/index.ts";

export interface KindInfo {
  readonly kind: string;
  readonly help: string;
  readonly path: readonly string[];
  /** Terminals that can be written in its block; empty where they are free names. */
  readonly terminals: readonly string[];
  readonly words: readonly string[];
  readonly facts: readonly { readonly example: string; readonly what: string; readonly required?: boolean }[];
}

export function kindInfo(kind: string): KindInfo | undefined {
  const definition = kindDefinitions.get(kind);
  if (definition === undefined) return undefined;
  return {
    kind,
    help: definition.help,
    path: definition.path,
    terminals: definition.terminals === "any" ? [] : definition.terminals,
    words: definition.words,
    facts: definition.facts,
  };
}

export function allKinds(): readonly KindInfo[] {
  return [...kindDefinitions.keys()].map((kind) => kindInfo(kind)).filter((info) => info !== undefined);
}

/** A kind's sentence, its path and its facts, as Markdown. */
export function kindHelp(kind: string): string | undefined {
  const info = kindInfo(kind);
  if (info === undefined) return undefined;
  const lines = [`**${kind}** · ${info.help}`];
  if (info.path.length === 2) lines.push(`In a path: \`${info.path[0]} -- ${kind} … -- ${info.path[1]}\``);
  if (info.facts.length > 0)
    lines.push(
      info.facts
        .map(
          ({ example, what, required }) => `- \`${example}\` ${what}${required ? "" : " (may be left out)"}`,
        )
        .join("\n"),
    );
  return lines.join("\n\n");
}
