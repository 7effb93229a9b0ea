/**
 * The part of the grammar that stands between braces: terminals with their nets, and rows (windings, sections, poles).
 * A wrong item is told and passed over up to the next comma or line end; nothing else is lost by it.
 */
import { EmbeddedActionsParser, type IToken, type ParserMethod, type TokenType } from "chevrotain";
import { factsOf, wordOf } from "./facts.ts";
import { Colon, Dashes, endOf, OpenText, RoundClose, RoundOpen, Text, Word as WordToken } from "./lexer.ts";
import { expectedIn, messageProvider, shown } from "./messages.ts";
import { heaterTerminals, heaterWords, isNetName } from "./names.ts";
import { netOf, type Report } from "./paths.ts";
import * as L from "./places.ts";
import type { BodyItem, Fact, RowItem, TerminalItem } from "./tree.ts";
import { itemEnders, lineEnders, rowItemEnders, terminalEnders, vocabulary } from "./vocabulary.ts";

export interface Body {
  readonly items: readonly BodyItem[];
  readonly range: { readonly start: number; readonly end: number };
}

/** Only a whole statement or a block's header is given up: resync on every other rule is off. */
export const inner = { resyncEnabled: false };

export class BodyParser extends EmbeddedActionsParser {
  /** The text being read; set it before the tokens. */
  source = "";
  problems: { message: string; start: number; end: number }[] = [];

  protected readonly report: Report = (message, start, end) => {
    this.problems.push({ message, start, end });
  };

  /** @param isChecked have the grammar itself checked: a test does so once, a program need not at every start. */
  constructor(isChecked = false) {
    super(vocabulary, {
      recoveryEnabled: true,
      maxLookahead: 1,
      errorMessageProvider: messageProvider,
      skipValidations: !isChecked,
    });
  }

  protected readonly words: ParserMethod<[], IToken[]> = this.RULE(
    "words",
    () => {
      const words: IToken[] = [];
      this.MANY(() => words.push(this.CONSUME(WordToken)));
      return words;
    },
    inner,
  );

  protected readonly body: ParserMethod<[], Body> = this.RULE(
    "body",
    () => {
      const items: BodyItem[] = [];
      const open = this.CONSUME(L.BodyOpen);
      this.MANY(() => {
        this.OR([
          { ALT: () => this.SUBRULE(this.item, { ARGS: [items] }) },
          { ALT: () => this.CONSUME(L.Separator) },
        ]);
      });
      const close = this.CONSUME(L.BodyClose);
      return { items, range: span(open, close) };
    },
    inner,
  );

  private readonly item: ParserMethod<[BodyItem[]], void> = this.RULE(
    "item",
    (items: BodyItem[]) => {
      this.ACTION(() => this.expectSeparator());
      this.OR([
        {
          ALT: () => {
            const terminal = this.SUBRULE(this.terminal);
            this.ACTION(() => terminal && terminalEnders.has(this.LA(1).tokenType) && items.push(terminal));
          },
        },
        {
          ALT: () => {
            const row = this.SUBRULE(this.row);
            this.ACTION(() => row && items.push(row));
          },
        },
        { ALT: () => this.CONSUME(L.WrongItem) },
        { ALT: () => this.CONSUME(L.RowOpen) },
      ]);
      this.ACTION(() => this.endItem());
    },
    inner,
  );

  private readonly terminal: ParserMethod<[], TerminalItem | undefined> = this.RULE(
    "terminal",
    () => {
      const name = this.CONSUME(L.TerminalName);
      this.CONSUME(Colon);
      const words = this.SUBRULE(this.words);
      return this.ACTION(() => this.terminalOf(name, words));
    },
    inner,
  );

  private readonly row: ParserMethod<[], RowItem | undefined> = this.RULE(
    "row",
    () => {
      const name = this.CONSUME(L.RowName);
      const words = this.SUBRULE(this.words);
      const nets: IToken[] = [];
      const terminals: TerminalItem[] = [];
      let whole = true;
      let close: IToken | undefined;
      this.OPTION(() => {
        this.CONSUME(L.RowOpen);
        this.MANY(() => {
          this.OR([
            { ALT: () => nets.push(this.CONSUME(WordToken)) },
            { ALT: () => this.CONSUME(L.RowSeparator) },
            {
              ALT: () => {
                const terminal = this.SUBRULE(this.terminal);
                this.ACTION(() => {
                  if (terminal && terminalEnders.has(this.LA(1).tokenType)) terminals.push(terminal);
                  this.endRowItem();
                });
              },
            },
            {
              ALT: () => {
                this.SUBRULE(this.wrongRowItem);
                whole = false;
              },
            },
          ]);
        });
        close = this.CONSUME(L.RowClose);
      });
      return this.ACTION(() => this.rowOf(name, words, nets, terminals, whole, close));
    },
    inner,
  );

  private readonly wrongRowItem = this.RULE(
    "rowItem",
    () => {
      this.ACTION(() => {
        const next = this.LA(1);
        this.reportAt(next, expectedIn("rowItem", "", next));
      });
      this.OR([
        { ALT: () => this.CONSUME(Text) },
        { ALT: () => this.CONSUME(OpenText) },
        { ALT: () => this.CONSUME(Dashes) },
        { ALT: () => this.CONSUME(Colon) },
        { ALT: () => this.CONSUME(RoundOpen) },
        { ALT: () => this.CONSUME(RoundClose) },
      ]);
      this.ACTION(() => this.skipTo(rowItemEnders));
    },
    inner,
  );

  // ── what the actions do ──────────────────────────────────────
  protected facts(words: readonly IToken[]): readonly Fact[] {
    return factsOf(words, this.source);
  }

  private terminalOf(name: IToken, words: readonly IToken[]): TerminalItem | undefined {
    if (words.length === 0) {
      const next = this.LA(1);
      const message = `Expected the net that ${name.image} sits on, such as ${name.image}: k1; ${shown(next)}.`;
      if (terminalEnders.has(next.tokenType)) this.reportAfter(message);
      else this.reportAt(next, message);
      return undefined;
    }
    let nets = 1;
    if (heaterTerminals.has(name.image)) {
      while (nets < words.length && !heaterWords.has(words[nets].image)) nets++;
    }
    return {
      node: "terminal",
      terminal: wordOf(name),
      nets: words.slice(0, nets).map((word) => netOf(word, this.report)),
      facts: this.facts(words.slice(nets)),
      range: span(name, words[words.length - 1]),
    };
  }

  private rowOf(
    name: IToken,
    words: readonly IToken[],
    nets: readonly IToken[],
    terminals: readonly TerminalItem[],
    whole: boolean,
    close: IToken | undefined,
  ): RowItem | undefined {
    if (!close) {
      const next = this.LA(1);
      if (!itemEnders.has(next.tokenType)) this.reportAt(next, expectedIn("row", "", next));
      else if (words.length === 0) {
        this.reportAfter(
          `Expected : and a net behind ${name.image}, such as ${name.image}: k1; ${shown(next)}.`,
        );
      } else if (words.length === 1 && isNetName(words[0].image)) {
        const written = `${name.image}: ${words[0].image}`;
        this.report(
          `Expected : between a terminal and its net: ${written}.`,
          name.startOffset,
          endOf(words[0]),
        );
      } else {
        const written = [name, ...words].map((word) => word.image).join(" ");
        this.reportAfter(
          `Expected nets in braces behind the row ${name.image}: ${written} { a b }; ${shown(next)}.`,
        );
      }
      return undefined;
    }
    if (terminals.length > 0 && nets.length > 0) {
      this.reportAt(
        nets[0],
        `Expected a terminal before the net ${nets[0].image}, such as plate: ${nets[0].image}.`,
      );
    } else if (!whole && nets.length > 0) return undefined; // a winding short of a net would be a different winding
    return {
      node: "row",
      name: wordOf(name),
      facts: factsOf(words, this.source, { winding: true }),
      nets: terminals.length > 0 ? [] : nets.map((net) => netOf(net, this.report)),
      terminals,
      range: span(name, close),
    };
  }

  private expectSeparator(): void {
    const before = this.LA(0).tokenType;
    if (before !== L.Separator && before !== L.BodyOpen && before !== L.RowClose) {
      this.reportAt(this.LA(1), `Expected a comma or a line end before ${this.LA(1).image}.`);
    }
  }

  private endItem(): void {
    const next = this.LA(1).tokenType;
    const last = this.LA(0);
    if (last.tokenType === L.WrongItem || last.tokenType === L.RowOpen) {
      this.reportAt(last, expectedIn("item", "", last));
    } else if (itemEnders.has(next) || next === L.TerminalName || next === L.RowName) return;
    else this.reportAt(this.LA(1), `Expected a comma or a line end; ${shown(this.LA(1))}.`);
    this.skipTo(itemEnders);
  }

  private endRowItem(): void {
    const next = this.LA(1);
    if (next.tokenType === L.TerminalName) {
      this.reportAt(next, `Expected a comma or a line end before ${next.image}.`);
    } else if (!rowItemEnders.has(next.tokenType)) {
      this.reportAt(next, `Expected a comma or a line end; ${shown(next)}.`);
      this.skipTo(rowItemEnders);
    }
  }

  protected skipTo(enders: ReadonlySet<TokenType>): void {
    while (!enders.has(this.LA(1).tokenType)) this.SKIP_TOKEN();
  }

  protected reportAt(token: IToken, message: string): void {
    if (Number.isNaN(token.startOffset) || token.image === "" || lineEnders.has(token.tokenType))
      this.reportAfter(message);
    else this.report(message, token.startOffset, endOf(token));
  }

  /** Puts a message behind the token read last, where something is missing. */
  protected reportAfter(message: string): void {
    const end = endOf(this.LA(0));
    this.report(message, end, end);
  }

  // A word put in or left out by guess would change what the line says: a wrong line is wrong.
  protected override canTokenTypeBeInsertedInRecovery(): boolean {
    return false;
  }
  protected override canTokenTypeBeDeletedInRecovery(): boolean {
    return false;
  }
}

export function span(first: IToken, last: IToken): { start: number; end: number } {
  return { start: first.startOffset, end: endOf(last) };
}
