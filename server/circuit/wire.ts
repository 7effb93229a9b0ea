/** Writing where a part's terminals are wired, from its body. */
import type { RowItem, TerminalItem, Word } from "../../grammar/tree.ts";
import type { RawPart, TerminalSpec, Wiring } from "./kinds/kind.ts";
import { listed, near, type Problems, problem, withArticle } from "./problems.ts";

/** The terminal that a word means, by its name or another word for it. */
export function terminalOf(word: string, terminals: readonly TerminalSpec[]): TerminalSpec | undefined {
  for (const terminal of terminals)
    if (terminal.name === word || terminal.aliases?.includes(word)) return terminal;
  return undefined;
}

/** Where a net's word of the body stands among those of the part. */
export function writtenAs(raw: RawPart, word: Word): Wiring | undefined {
  return raw.written.find((one) => one.word === word);
}

/** A part's terminals, in the order of a path. */
export function terminalsOf(raw: RawPart): readonly TerminalSpec[] {
  return raw.spec.terminalsOf?.(raw) ?? raw.spec.terminals;
}

/**
 * Wires plain `terminal: net` items.
 * @param options facts: facts may stand behind the net, and the kind reads them; prefix: stands before each key
 */
export function wireItems(
  raw: RawPart,
  items: readonly TerminalItem[],
  terminals: readonly TerminalSpec[],
  problems: Problems,
  options: { readonly facts?: boolean; readonly prefix?: string; readonly whose?: string } = {},
): void {
  const prefix = options.prefix ?? "";
  for (const item of items) {
    const terminal = terminalOf(item.terminal.text, terminals);
    if (!terminal) {
      unknownTerminal(
        raw,
        item.terminal,
        terminals.map((one) => one.name),
        problems,
        options.whose,
      );
      continue;
    }
    wireOne(raw, `${prefix}${terminal.name}`, item.terminal, item.nets[0], problems);
    if (!options.facts) strayFacts(raw, item, problems);
  }
}

export function wireBody(
  raw: RawPart,
  terminals: readonly TerminalSpec[],
  problems: Problems,
  options: { readonly facts?: boolean } = {},
): void {
  const items = raw.items.filter((item): item is TerminalItem => item.node === "terminal");
  wireItems(raw, items, terminals, problems, options);
}

export function wireOne(
  raw: RawPart,
  key: string,
  name: Word,
  net: Word | undefined,
  problems: Problems,
): void {
  if (!net) return;
  const before = raw.wiring.get(key);
  if (before) {
    problems.push(
      problem(
        "circuit/duplicate-reference",
        `${raw.reference}.${key} is wired to ${before.word.text} already. Join the nets with a wire, or take one out.`,
        raw.scope.file,
        name.range,
        [raw.reference],
        {
          related: [
            {
              message: "wired here first",
              place: before.place,
              on: raw.reference,
            },
          ],
        },
      ),
    );
    return;
  }
  const written = writtenAs(raw, net);
  if (written) raw.wiring.set(key, written);
}

function strayFacts(raw: RawPart, item: TerminalItem, problems: Problems): void {
  const [first] = item.facts;
  if (!first) return;
  problems.push(
    problem(
      "circuit/unknown-fact",
      `${raw.reference}: ${first.text} cannot stand behind a net here. Facts of ${withArticle(raw.spec.kind)} stand before its block.`,
      raw.scope.file,
      first.range,
      [raw.reference],
    ),
  );
}

export function unknownTerminal(
  raw: RawPart,
  word: Word,
  names: readonly string[],
  problems: Problems,
  whose: string = withArticle(raw.spec.kind),
): void {
  const place = { file: raw.scope.file, range: word.range };
  const { sentence, fix } = near(word.text, names, place, `Terminals of ${whose}`);
  problems.push(
    problem(
      "circuit/unknown-terminal",
      `${raw.reference}: ${whose} has no terminal called ${word.text}.${sentence}`,
      raw.scope.file,
      word.range,
      [raw.reference],
      { fix },
    ),
  );
}

/** A row (`name … { … }`) where the kind has none. */
export function unknownRow(
  raw: RawPart,
  row: RowItem,
  terminals: readonly TerminalSpec[],
  problems: Problems,
): void {
  const names = terminals.map((one) => one.name);
  problems.push(
    problem(
      "circuit/unknown-terminal",
      `${raw.reference}: ${withArticle(raw.spec.kind)} has no row called ${row.name.text}. ` +
        `Write its terminals as ${listed(names.slice(0, 2).map((name) => `${name}: net`))}.`,
      raw.scope.file,
      row.name.range,
      [raw.reference],
    ),
  );
}
