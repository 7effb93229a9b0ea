/** Statements that stand further on in another text: the same nodes with every range moved. */
import type {
  BodyItem,
  Fact,
  PathPart,
  Range,
  RowItem,
  Statement,
  SyntaxProblem,
  TerminalItem,
  Word,
} from "./tree.ts";

/** @param by UTF-16 code units; nothing is made anew where it is 0 */
export function shifted(statement: Statement, by: number): Statement {
  return by === 0 ? statement : new Shift(by).statement(statement);
}

export function shiftedProblem({ rule, message, range }: SyntaxProblem, by: number): SyntaxProblem {
  return { rule, message, range: { start: range.start + by, end: range.end + by } };
}

class Shift {
  constructor(private readonly by: number) {}

  // Written out for each node: a walk over whatever fields there are takes as long as reading the text.
  statement(of: Statement): Statement {
    const range = this.range(of.range);
    switch (of.node) {
      case "amp":
        return { node: "amp", name: this.word(of.name), range };
      case "mains":
        return { node: "mains", facts: this.facts(of.facts), range };
      case "part":
        return {
          node: "part",
          kind: this.word(of.kind),
          reference: this.maybe(of.reference),
          facts: this.facts(of.facts),
          body: of.body && {
            items: of.body.items.map((item) => this.item(item)),
            range: this.range(of.body.range),
          },
          range,
        };
      case "path":
        return {
          node: "path",
          nets: this.words(of.nets),
          parts: of.parts.map((one) => this.part(one)),
          range,
        };
      case "metal":
        return { node: "metal", net: this.word(of.net), facts: this.facts(of.facts), range };
      case "assume":
        return { node: "assume", subject: this.word(of.subject), facts: this.facts(of.facts), range };
      case "measured":
        return {
          node: "measured",
          target: this.word(of.target),
          across: of.across,
          value: of.value && this.fact(of.value),
          at: of.at && this.fact(of.at),
          range,
        };
      case "waive":
        return {
          node: "waive",
          rule: this.word(of.rule),
          on: this.maybe(of.on),
          because: this.maybe(of.because),
          until: this.maybe(of.until),
          range,
        };
      case "include":
        return { node: "include", file: this.word(of.file), range };
      case "block":
        return {
          node: "block",
          name: this.word(of.name),
          parameters: this.words(of.parameters),
          statements: of.statements.map((inner) => this.statement(inner)),
          range,
        };
      case "use":
        return {
          node: "use",
          name: this.word(of.name),
          arguments: this.words(of.arguments),
          prefix: this.maybe(of.prefix),
          range,
        };
    }
  }

  private range({ start, end }: Range): Range {
    return { start: start + this.by, end: end + this.by };
  }

  private word({ text, range }: Word): Word {
    return { text, range: this.range(range) };
  }

  private maybe(word: Word | undefined): Word | undefined {
    return word && this.word(word);
  }

  private words(words: readonly Word[]): readonly Word[] {
    return words.map((word) => this.word(word));
  }

  private part({ kind, reference, facts, range }: PathPart): PathPart {
    return {
      kind: this.word(kind),
      reference: this.maybe(reference),
      facts: this.facts(facts),
      range: this.range(range),
    };
  }

  private item(item: BodyItem): BodyItem {
    return item.node === "row" ? this.row(item) : this.terminal(item);
  }

  private terminal({ terminal, nets, facts, range }: TerminalItem): TerminalItem {
    return {
      node: "terminal",
      terminal: this.word(terminal),
      nets: this.words(nets),
      facts: this.facts(facts),
      range: this.range(range),
    };
  }

  private row({ name, facts, nets, terminals, range }: RowItem): RowItem {
    return {
      node: "row",
      name: this.word(name),
      facts: this.facts(facts),
      nets: this.words(nets),
      terminals: terminals.map((terminal) => this.terminal(terminal)),
      range: this.range(range),
    };
  }

  private facts(facts: readonly Fact[]): readonly Fact[] {
    return facts.map((fact) => this.fact(fact));
  }

  private fact({ range, text, label, word, quantity, series, fuse, direct }: Fact): Fact {
    return {
      range: this.range(range),
      text,
      label: this.maybe(label),
      word: this.maybe(word),
      quantity,
      series,
      fuse,
      direct,
    };
  }
}
