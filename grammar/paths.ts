/** Segments between `--`, read as net, part, net, part, net. */
import type { IToken } from "chevrotain";
import { factsOf, wordOf } from "./facts.ts";
import { shape } from "./letters.ts";
import { endOf } from "./lexer.ts";
import { exampleReference, factWords, isNetName, isReferenceShape, kinds, unnamedKinds } from "./names.ts";
import { didYouMeanKind, nearNames } from "./near.ts";
import { isBareNumber, parseFuse, parseQuantity } from "./quantity.ts";
import type { Fact, PathPart, PathStatement, Word } from "./tree.ts";

export type Report = (message: string, start: number, end: number) => void;

const knownKinds: ReadonlySet<string> = new Set(kinds);
export function isKind(text: string): boolean {
  return knownKinds.has(text);
}

/** `a resistor`, `an output-transformer`. */
export function withArticle(kind: string): string {
  return `${/^[aeiou]/.test(kind) ? "an" : "a"} ${kind}`;
}

/** Meant as a reference, but with a mark inside: `R-7`. */
const isMisnamedReference = shape(
  /^[A-Za-z]{1,3}[^A-Za-z0-9_][0-9]+$/,
  String.raw`^\p{L}{1,3}[^\p{L}\p{N}_]\p{N}+$`,
);
const isLetterThenDigits = shape(/^[A-Za-z]+\d+[A-Za-z]?$/, String.raw`^\p{L}+\d+\p{L}?$`);

/**
 * Does this word name the part that the kind before it begins? A reference always follows its kind, so it does, save a word
 * that is a fact wherever it stands, a value that no reference looks like, and a fuse's letter and current. Where a
 * reference may be left out (wire, bond) a word of letters then digits is one, and any other that is neither fact nor value.
 */
export function isReference(kind: string, words: readonly IToken[]): boolean {
  const text = words[0].image;
  if (!isReferenceShape(text) || factWords.has(text)) return false;
  if (unnamedKinds.has(kind)) return isLetterThenDigits(text) || parseQuantity(text) === undefined;
  if (kind === "fuse" && parseFuse(text))
    return words.slice(1).some((word) => parseFuse(word.image) !== undefined);
  return true;
}

/** Kind, reference and facts from the words of a part; tells of a reference left out or wrongly written. */
export function partOf(words: readonly IToken[], source: string, report: Report): PathPart {
  const kind = wordOf(words[0]);
  const rest = words.slice(1);
  let reference: Word | undefined;
  if (rest.length > 0 && isReference(kind.text, rest)) {
    reference = wordOf(rest[0]);
    rest.shift();
  } else if (!unnamedKinds.has(kind.text) && isKind(kind.text)) {
    const isMisnamed = rest.length > 0 && isMisnamedReference(rest[0].image);
    if (isMisnamed) {
      const message = `${rest[0].image} is no reference: a letter first, then letters, digits and _, such as`;
      report(`${message} ${exampleReference[kind.text]}.`, rest[0].startOffset, endOf(rest[0]));
      reference = wordOf(rest[0]);
      rest.shift();
    } else {
      const message = `${capital(withArticle(kind.text))} needs a reference such as ${exampleReference[kind.text]}`;
      report(`${message} right behind the word ${kind.text}.`, kind.range.start, kind.range.end);
    }
  }
  const facts: readonly Fact[] = factsOf(rest, source);
  return { kind, reference, facts, range: { start: kind.range.start, end: endOf(words[words.length - 1]) } };
}

export function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

/** Tells of a name that is no net's; the net is kept all the same. */
export function netOf(token: IToken, report: Report): Word {
  if (!isNetName(token.image)) {
    report(
      `${token.image} is no name for a net: letters, digits and _, and + behind the first letter.`,
      token.startOffset,
      endOf(token),
    );
  }
  return wordOf(token);
}

/** Tells of an unknown kind, with the kinds that it may have meant. */
export function unknownKind(token: IToken, report: Report): void {
  report(
    `There is no kind of part called ${token.image}.${didYouMeanKind(token.image, kinds)}`,
    token.startOffset,
    endOf(token),
  );
}

export interface Segment {
  readonly words: readonly IToken[];
  /** Where the segment would stand if it is empty: behind the `--` before it. */
  readonly at: number;
}

/**
 * Reads the segments of one path line.
 * @param isCut something that belongs in no path ended it early, and has been told: nothing more is then said of its end
 * @returns the paths that are whole: one, or several where something between was wrong and cost its own piece
 */
export function pathsOf(
  segments: readonly Segment[],
  source: string,
  report: Report,
  isCut: boolean,
): readonly PathStatement[] {
  return new PathReader(segments, source, report).read(isCut);
}

class PathReader {
  private readonly paths: PathStatement[] = [];
  private nets: Word[] = [];
  private parts: PathPart[] = [];

  constructor(
    private readonly segments: readonly Segment[],
    private readonly source: string,
    private readonly report: Report,
  ) {}

  read(isCut: boolean): readonly PathStatement[] {
    this.segments.forEach((segment, index) => {
      if (segment.words.length === 0) {
        if (!isCut || index < this.segments.length - 1) this.empty(segment, index);
      } else if (this.nets.length === this.parts.length) this.expectNet(segment.words);
      else this.expectPart(segment.words);
    });
    const last = this.segments[this.segments.length - 1];
    if (!isCut && last.words.length > 0 && this.nets.length === this.parts.length && this.parts.length > 0) {
      const end = endOf(last.words[last.words.length - 1]);
      this.report("The path ends in a part: expected -- and the net on its other side.", end, end);
    }
    this.flush();
    return this.paths;
  }

  private empty(segment: Segment, index: number): void {
    const expected = this.nets.length === this.parts.length ? "a net" : "a part, such as resistor R7 10k";
    // A path's first segment is never empty: its line would not have been taken for a path.
    const where =
      index === this.segments.length - 1 ? "behind this --: the line ends here" : "between these two --";
    this.report(`Expected ${expected} ${where}.`, segment.at, segment.at);
  }

  private expectNet(words: readonly IToken[]): void {
    const [first, second] = words;
    if (words.length === 1) {
      this.nets.push(netOf(first, this.report));
      return;
    }
    if (isKind(first.image) && !isKind(second.image)) {
      this.report(
        this.parts.length > 0
          ? "Two parts stand side by side: expected a net between them."
          : `A path begins with a net: expected a net and -- before ${first.image}.`,
        first.startOffset,
        endOf(first),
      );
      this.flush();
      return;
    }
    this.report(
      isKind(second.image)
        ? `Expected -- between the net ${first.image} and the ${second.image}.`
        : `Expected -- behind the net ${first.image}; found ${second.image}.`,
      second.startOffset,
      endOf(second),
    );
    this.nets.push(wordOf(first));
    if (isKind(second.image)) this.parts.push(partOf(words.slice(1), this.source, this.report));
  }

  private expectPart(words: readonly IToken[]): void {
    const first = words[0];
    if (isKind(first.image)) {
      this.parts.push(partOf(words, this.source, this.report));
      return;
    }
    const isValue = isBareNumber(first.image) || parseQuantity(first.image) !== undefined;
    const isNear = nearNames(first.image, kinds).length > 0;
    if (words.length === 1 && !isNear) {
      if (isValue) {
        this.report(
          `Expected a kind and a reference before the value ${first.image}, such as resistor R7 ${first.image}.`,
          first.startOffset,
          endOf(first),
        );
        this.flush();
        return;
      }
      this.report(
        `Two nets stand side by side: expected a part between ${this.nets[this.nets.length - 1].text} and ${first.image}.`,
        first.startOffset,
        endOf(first),
      );
      this.flush();
      this.nets.push(wordOf(first));
      return;
    }
    if (!isNear && words.length > 1 && isReferenceShape(first.image) && parseQuantity(words[1].image)) {
      this.report(
        `Expected a kind before ${first.image}, such as resistor ${first.image} ${words[1].image}.`,
        first.startOffset,
        endOf(first),
      );
      this.flush();
      return;
    }
    unknownKind(first, this.report);
    this.parts.push(partOf(words, this.source, this.report));
  }

  /** Ends the piece so far; a part without a net on its right is lost with the mistake. */
  private flush(): void {
    const parts = this.parts.slice(0, Math.max(0, this.nets.length - 1));
    if (parts.length > 0) {
      const nets = this.nets;
      this.paths.push({
        node: "path",
        nets,
        parts,
        range: { start: nets[0].range.start, end: nets[nets.length - 1].range.end },
      });
    }
    this.nets = [];
    this.parts = [];
  }
}
