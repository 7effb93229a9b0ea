/** Words behind a part, a winding or a terminal, joined to facts. */
import type { IToken } from "chevrotain";
import { endOf } from "./lexer.ts";
import { labels } from "./names.ts";
import { isBareNumber, isUnit, parseFuse, parseQuantity, parseSeries } from "./quantity.ts";
import type { Fact, Word } from "./tree.ts";

/** What else may stand before a quantity at this place. */
export interface FactPlace {
  /** `measured … at mains 236V`: elsewhere `mains` is a fact of its own. */
  readonly labels?: ReadonlySet<string>;
  /** On a winding `dc` always belongs to the current before it; elsewhere it may be the label of a voltage behind it. */
  readonly winding?: boolean;
}

export function wordOf(token: IToken): Word {
  return { text: token.image, range: { start: token.startOffset, end: endOf(token) } };
}

/**
 * Joins words to facts, in order; every word ends up in exactly one.
 * @param source the whole text, for each fact's own text
 */
export function factsOf(words: readonly IToken[], source: string, place: FactPlace = {}): readonly Fact[] {
  const facts: Fact[] = [];
  let index = 0;
  while (index < words.length) {
    const label = labelAt(words, index, place);
    const value = valueAt(words, label ? index + 1 : index);
    if (label && value?.fact.quantity) {
      facts.push(
        spanning(words, index, value.next, source, {
          label: wordOf(words[index]),
          quantity: value.fact.quantity,
        }),
      );
      index = value.next;
    } else {
      const plain = label ? valueAt(words, index)! : value!;
      const direct = plain.fact.quantity && isDirect(words, plain.next, place);
      const next = direct ? plain.next + 1 : plain.next;
      facts.push(spanning(words, index, next, source, direct ? { ...plain.fact, direct: true } : plain.fact));
      index = next;
    }
  }
  return facts;
}

type Content = Omit<Fact, "range" | "text">;

function spanning(
  words: readonly IToken[],
  from: number,
  next: number,
  source: string,
  content: Content,
): Fact {
  const start = words[from].startOffset;
  const end = endOf(words[next - 1]);
  return { range: { start, end }, text: source.slice(start, end), ...content };
}

function labelAt(words: readonly IToken[], index: number, place: FactPlace): boolean {
  const text = words[index].image;
  if (index + 1 >= words.length) return false;
  return labels.has(text) || text === "dc" || (place.labels?.has(text) ?? false);
}

/** One value or word at an index, a separate unit joined to its number. */
function valueAt(
  words: readonly IToken[],
  index: number,
): { readonly fact: Content; readonly next: number } | undefined {
  const token = words[index];
  if (!token) return undefined;
  const unit = words[index + 1];
  if (unit && isUnit(unit.image)) {
    if (isBareNumber(token.image)) {
      const quantity = parseQuantity(token.image + unit.image);
      if (quantity) return { fact: { quantity }, next: index + 2 };
    }
    const series = parseSeries(token.image);
    if (series?.every((one) => one.unit === "none")) {
      const joined = parseSeries(token.image + unit.image);
      if (joined) return { fact: { series: joined }, next: index + 2 };
    }
  }
  return { fact: contentOf(token), next: index + 1 };
}

function contentOf(token: IToken): Content {
  const text = token.image;
  const quantity = parseQuantity(text);
  if (quantity && !isFuseLetter(text)) return { quantity };
  const fuse = parseFuse(text);
  if (fuse) return { fuse, word: wordOf(token) };
  if (quantity) return { quantity };
  const series = parseSeries(text);
  return series ? { series } : { word: wordOf(token) };
}

/** `M2A` is a fuse before it is a number of mega. */
function isFuseLetter(text: string): boolean {
  return text.charCodeAt(0) === 77;
}

/** Is the word at this index the `dc` of the quantity before it? */
function isDirect(words: readonly IToken[], index: number, place: FactPlace): boolean {
  if (words[index]?.image !== "dc") return false;
  if (place.winding) return true;
  return valueAt(words, index + 1)?.fact.quantity?.unit !== "volt";
}
