/**
 * Tokens to statements. The grammar is small because `layout.ts` has told apart what begins each line and item: a line
 * is one statement, an item one terminal or row. What goes wrong inside one is put right at its end, never further on.
 */
import type { IToken, ParserMethod } from "chevrotain";
import { type Body, BodyParser, inner, span } from "./body-parser.ts";
import { factsOf, wordOf } from "./facts.ts";
import {
  Comma,
  Dashes,
  endOf,
  LineEnd,
  OpenText,
  RoundClose,
  RoundOpen,
  Text,
  Word as WordToken,
} from "./lexer.ts";
import { expectedIn, shown } from "./messages.ts";
import { isNetName, isReferenceShape, kinds, statementWords } from "./names.ts";
import { didYouMeanKind, nearNames } from "./near.ts";
import { netOf, partOf, pathsOf, type Segment } from "./paths.ts";
import * as L from "./places.ts";
import { parseQuantity } from "./quantity.ts";
import type { Fact, Statement, Word } from "./tree.ts";
import { lineEnders } from "./vocabulary.ts";

const measuredLabels: ReadonlySet<string> = new Set(["mains"]);
const firstWords = [...kinds, ...statementWords];
const dateShape = /^\d{4}-(?:0[1-9]|1[0-2])-(?:0[1-9]|[12]\d|3[01])$/;

interface Header {
  name?: Word;
  parameters: readonly Word[];
}

/** One instance serves every text: set `source` and `problems`, then `input`, then call `file`. */
export class AmpnetParser extends BodyParser {
  /** Statements of the file, or of the block being read. */
  private statements: Statement[] = [];
  private inBlock = false;
  private header: Header = { parameters: [] };

  constructor(isChecked = false) {
    super(isChecked);
    this.performSelfAnalysis();
  }

  readonly file: ParserMethod<[], Statement[]> = this.RULE(
    "file",
    () => {
      this.ACTION(() => {
        this.statements = [];
        this.inBlock = false;
      });
      this.MANY(() => {
        this.OR([{ ALT: () => this.SUBRULE(this.statement) }, { ALT: () => this.CONSUME(LineEnd) }]);
      });
      return this.statements;
    },
    { recoveryValueFunc: () => this.statements },
  );

  private readonly statement: ParserMethod<[], void> = this.RULE("statement", () => {
    this.OR([
      { ALT: () => this.SUBRULE(this.path) },
      { ALT: () => this.SUBRULE(this.part) },
      { ALT: () => this.SUBRULE(this.amp) },
      { ALT: () => this.SUBRULE(this.mains) },
      { ALT: () => this.SUBRULE(this.metal) },
      { ALT: () => this.SUBRULE(this.assume) },
      { ALT: () => this.SUBRULE(this.measured) },
      { ALT: () => this.SUBRULE(this.waive) },
      { ALT: () => this.SUBRULE(this.include) },
      { ALT: () => this.SUBRULE(this.block) },
      { ALT: () => this.SUBRULE(this.use) },
      { ALT: () => this.SUBRULE(this.unknown) },
      { ALT: () => this.SUBRULE(this.strayBody) },
    ]);
    this.ACTION(() => this.expectLineEnd());
  });

  // ── statements of one line ───────────────────────────────────
  private readonly amp = this.RULE(
    "amp",
    () => {
      const first = this.CONSUME(L.Amp);
      const name = this.CONSUME(Text);
      this.ACTION(() => this.statements.push({ node: "amp", name: quoted(name), range: span(first, name) }));
    },
    inner,
  );

  private readonly include = this.RULE(
    "include",
    () => {
      const first = this.CONSUME(L.Include);
      const file = this.CONSUME(Text);
      this.ACTION(() =>
        this.statements.push({ node: "include", file: quoted(file), range: span(first, file) }),
      );
    },
    inner,
  );

  private readonly mains = this.RULE(
    "mains",
    () => {
      const first = this.CONSUME(L.MainsWord);
      const words: IToken[] = [];
      this.AT_LEAST_ONE(() => words.push(this.CONSUME(WordToken)));
      this.ACTION(() =>
        this.keepWhole(() => ({ node: "mains", facts: this.facts(words), range: span(first, this.LA(0)) })),
      );
    },
    inner,
  );

  private readonly metal = this.RULE(
    "metal",
    () => {
      const first = this.CONSUME(L.Metal);
      const net = this.CONSUME(WordToken);
      const words = this.SUBRULE(this.words);
      this.ACTION(() =>
        this.keepWhole(() => ({
          node: "metal",
          net: netOf(net, this.report),
          facts: this.facts(words),
          range: span(first, this.LA(0)),
        })),
      );
    },
    inner,
  );

  private readonly assume = this.RULE(
    "assume",
    () => {
      const first = this.CONSUME(L.Assume);
      const subject = this.CONSUME(WordToken);
      const words: IToken[] = [];
      this.AT_LEAST_ONE(() => words.push(this.CONSUME2(WordToken)));
      this.ACTION(() =>
        this.keepWhole(() => ({
          node: "assume",
          subject: wordOf(subject),
          facts: this.facts(words),
          range: span(first, this.LA(0)),
        })),
      );
    },
    inner,
  );

  private readonly measured = this.RULE(
    "measured",
    () => {
      const first = this.CONSUME(L.Measured);
      let across = false;
      this.OPTION(() => {
        this.CONSUME(L.Across);
        across = true;
      });
      const target = this.CONSUME(WordToken);
      const words: IToken[] = [];
      this.AT_LEAST_ONE(() => words.push(this.CONSUME2(WordToken)));
      let at: IToken[] | undefined;
      this.OPTION2(() => {
        this.CONSUME(L.At);
        at = [];
        this.AT_LEAST_ONE2(() => at!.push(this.CONSUME3(WordToken)));
      });
      this.ACTION(() => {
        const value = this.oneReading(words, "a reading, such as 312V, 85mA or 0.08R");
        const condition =
          at && this.oneReading(at, "what it was taken at, such as at mains 236V or at 500V", measuredLabels);
        if (!value || (at && !condition)) return;
        const range = span(first, this.LA(0));
        this.statements.push({
          node: "measured",
          target: wordOf(target),
          across,
          value,
          at: condition,
          range,
        });
      });
    },
    inner,
  );

  private readonly waive = this.RULE(
    "waive",
    () => {
      const first = this.CONSUME(L.Waive);
      const rule = this.CONSUME(WordToken);
      let on: IToken | undefined;
      let because: IToken | undefined;
      let until: IToken | undefined;
      this.MANY(() => {
        this.OR([
          { ALT: () => (on = this.SUBRULE(this.waiveOn)) },
          { ALT: () => (because = this.SUBRULE(this.waiveBecause)) },
          { ALT: () => (until = this.SUBRULE(this.waiveUntil)) },
        ]);
      });
      this.ACTION(() => {
        if (!because && lineEnders.has(this.LA(1).tokenType))
          this.reportAfter(expectedIn("waiveBecause", "Because", this.LA(1)));
        if (until && !dateShape.test(until.image)) {
          this.reportAt(
            until,
            `${until.image} is no date: expected year-month-day, such as until 2027-03-01.`,
          );
          return;
        }
        this.keepWhole(() => ({
          node: "waive",
          rule: wordOf(rule),
          on: on && wordOf(on),
          because: because && quoted(because),
          until: until && wordOf(until),
          range: span(first, this.LA(0)),
        }));
      });
    },
    inner,
  );
  private readonly waiveOn = this.RULE(
    "waiveOn",
    () => {
      this.CONSUME(L.On);
      return this.CONSUME(WordToken);
    },
    inner,
  );
  private readonly waiveBecause = this.RULE(
    "waiveBecause",
    () => {
      this.CONSUME(L.Because);
      return this.CONSUME(Text);
    },
    inner,
  );
  private readonly waiveUntil = this.RULE(
    "waiveUntil",
    () => {
      this.CONSUME(L.Until);
      return this.CONSUME(WordToken);
    },
    inner,
  );

  private readonly use = this.RULE(
    "use",
    () => {
      const first = this.CONSUME(L.Use);
      const name = this.CONSUME(WordToken);
      this.CONSUME(RoundOpen);
      const passed = this.SUBRULE(this.names);
      this.CONSUME(RoundClose);
      this.CONSUME(L.As);
      const prefix = this.CONSUME2(WordToken);
      this.ACTION(() => {
        if (!isReferenceShape(prefix.image)) {
          this.reportAt(
            prefix,
            `${prefix.image} is no prefix: expected a name of letters and digits, such as as N.`,
          );
          return;
        }
        this.statements.push({
          node: "use",
          name: wordOf(name),
          arguments: passed,
          prefix: wordOf(prefix),
          range: span(first, prefix),
        });
      });
    },
    inner,
  );

  private readonly names: ParserMethod<[], Word[]> = this.RULE(
    "names",
    () => {
      const words: Word[] = [];
      this.OPTION(() => {
        const word = this.CONSUME(WordToken);
        this.ACTION(() => words.push(netOf(word, this.report)));
        this.MANY(() => {
          this.CONSUME(Comma);
          const next = this.CONSUME2(WordToken);
          this.ACTION(() => words.push(netOf(next, this.report)));
        });
      });
      return words;
    },
    inner,
  );

  private readonly path = this.RULE(
    "path",
    () => {
      const segments: Segment[] = [];
      const first = this.CONSUME(L.FirstNet);
      const words = this.SUBRULE(this.words);
      this.ACTION(() => segments.push({ words: [first, ...words], at: first.startOffset }));
      this.MANY(() => {
        const dashes = this.CONSUME(Dashes);
        const more = this.SUBRULE2(this.words);
        this.ACTION(() => segments.push({ words: more, at: endOf(dashes) }));
      });
      this.ACTION(() => {
        const next = this.LA(1);
        const isCut = !lineEnders.has(next.tokenType);
        if (isCut) this.reportAt(next, this.unexpected(next, "path"));
        // A part or net that the wrong token cut short is not what was meant.
        if (isCut && segments[segments.length - 1].words.length > 1) segments.pop();
        if (segments.length > 0)
          for (const path of pathsOf(segments, this.source, this.report, isCut)) this.statements.push(path);
      });
    },
    inner,
  );

  /** A line that begins with nothing known: told with near names; kept where it looks like a part, its kind as written. */
  private readonly unknown = this.RULE(
    "unknown",
    () => {
      const first = this.CONSUME(L.Unknown);
      const words = this.SUBRULE(this.words);
      const body = this.OPTION(() => this.SUBRULE(this.body));
      this.ACTION(() => {
        this.reportAt(first, this.whyUnknown(first, words));
        if (words.length === 0 || nearNames(first.image, kinds).length === 0) return;
        this.keepPart(first, words, body);
      });
    },
    inner,
  );

  private readonly strayBody = this.RULE(
    "strayBody",
    () => {
      this.ACTION(() =>
        this.reportAt(this.LA(1), "Expected a part before this {: a block belongs to the part on its line."),
      );
      this.SUBRULE(this.body);
    },
    inner,
  );

  // ── blocks ───────────────────────────────────────────────────
  private readonly block = this.RULE(
    "block",
    () => {
      const first = this.LA(1);
      const outer = this.statements;
      const nested = this.inBlock;
      const header = this.SUBRULE(this.blockHeader);
      this.ACTION(() => nested && this.reportAt(first, "A block cannot stand inside another block."));
      this.CONSUME(L.BlockOpen);
      this.ACTION(() => {
        this.statements = [];
        this.inBlock = true;
      });
      try {
        this.MANY(() => {
          this.OR([{ ALT: () => this.SUBRULE(this.statement) }, { ALT: () => this.CONSUME(LineEnd) }]);
        });
        this.CONSUME(L.BlockClose);
      } finally {
        this.ACTION(() => {
          const { name, parameters } = header;
          const statements = this.statements;
          this.statements = outer;
          this.inBlock = nested;
          if (nested || !name) return;
          this.statements.push({
            node: "block",
            name,
            parameters,
            statements,
            range: span(first, this.LA(0)),
          });
        });
      }
    },
    inner,
  );

  private readonly blockHeader: ParserMethod<[], Header> = this.RULE(
    "blockHeader",
    () => {
      this.ACTION(() => {
        this.header = { parameters: [] };
      });
      this.CONSUME(L.BlockWord);
      const name = this.CONSUME(WordToken);
      this.ACTION(() => {
        this.header.name = wordOf(name);
      });
      this.CONSUME(RoundOpen);
      const parameters = this.SUBRULE(this.names);
      this.ACTION(() => {
        this.header.parameters = parameters;
      });
      this.CONSUME(RoundClose);
      return this.header;
    },
    { recoveryValueFunc: () => this.header },
  );

  // ── parts and their bodies ───────────────────────────────────
  private readonly part = this.RULE(
    "part",
    () => {
      const kind = this.CONSUME(L.Kind);
      const words = this.SUBRULE(this.words);
      const body = this.OPTION(() => this.SUBRULE(this.body));
      this.ACTION(() => {
        this.keepPart(kind, words, body);
      });
    },
    inner,
  );

  // ── what the actions do ──────────────────────────────────────
  /** A statement is kept where its line ends with it: cut short, it may say something else (`4,7k` would be `4`). */
  private keepWhole(statement: () => Statement): void {
    if (lineEnders.has(this.LA(1).tokenType)) this.statements.push(statement());
  }

  /** A part whose block is closed is whole, whatever stands behind it; one just begun, its block open and empty, is not. */
  private keepPart(kind: IToken, words: IToken[], body: Body | undefined): void {
    if (!body && !lineEnders.has(this.LA(1).tokenType)) return;
    if (body?.items.length === 0 && this.LA(0).image === "") return;
    words.unshift(kind);
    const { kind: name, reference, facts } = partOf(words, this.source, this.report);
    this.statements.push({ node: "part", kind: name, reference, facts, body, range: span(kind, this.LA(0)) });
  }

  private oneReading(words: readonly IToken[], what: string, labels?: ReadonlySet<string>): Fact | undefined {
    const [reading, further] = factsOf(words, this.source, { labels });
    if (!reading.quantity) {
      this.report(`Expected ${what}; found ${reading.text}.`, reading.range.start, reading.range.end);
      return undefined;
    }
    if (further) {
      this.report(`Expected one value only; found ${further.text}.`, further.range.start, further.range.end);
      return undefined;
    }
    return reading;
  }

  private whyUnknown(first: IToken, words: readonly IToken[]): string {
    if (!isNetName(first.image.replaceAll("-", ""))) {
      if (first.image.startsWith("--")) return "Expected a net before this --: a path begins with a net.";
      return `Expected a part, a path or another statement; ${shown(first)}.`;
    }
    if (words.some((word) => word.image === "-" || word.image === "–" || word.image === "—"))
      return `A path is joined with two dashes: ${first.image} -- part -- net.`;
    const near = didYouMeanKind(first.image, firstWords);
    if (near === "" && words.length === 0)
      return `${first.image} stands alone: expected -- and a part behind a net, or a statement.`;
    if (near === "" && words.some((word) => parseQuantity(word.image) !== undefined)) {
      return `Expected a kind of part, such as resistor or capacitor; found ${first.image}.`;
    }
    return `No statement begins with ${first.image}.${near}`;
  }

  /** What stands behind a finished statement is told and passed over. */
  private expectLineEnd(): void {
    const next = this.LA(1);
    if (lineEnders.has(next.tokenType)) return;
    this.reportAt(next, this.unexpected(next, "statement"));
    this.skipTo(lineEnders);
  }

  private unexpected(next: IToken, where: "path" | "statement"): string {
    if (next.tokenType === OpenText) return "This quotation mark has no partner on its line.";
    if (next.tokenType === Comma)
      return "A comma separates nothing here, and a decimal is written with a point: 4.7k or 4k7.";
    if (next.tokenType === Dashes) return "A path begins with a net: net -- part -- net.";
    if (next.tokenType === L.BodyOpen && where === "path") {
      return "A part in a path has no block: its nets are those on its left and right.";
    }
    return `Expected the end of the line; ${shown(next)}.`;
  }
}

/** A text without its quotation marks; its range keeps them. */
function quoted(token: IToken): Word {
  return { text: token.image.slice(1, -1), range: { start: token.startOffset, end: endOf(token) } };
}
