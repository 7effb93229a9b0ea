/** Facts as written, told apart by unit, label and word, against the table of their kind. */

import { parseFuse } from "../../grammar/quantity.ts";
import type { Fact, Quantity, Range, Unit } from "../../grammar/tree.ts";
import { miniatureFuse } from "../facts/mains.ts";
import { issuesOf } from "./fact-schema.ts";
import type { FactTable, NumberFact, ReadFacts } from "./kinds/kind.ts";
import type { Given, Place } from "./model.ts";
import { either, near, type Problems, problem, withArticle } from "./problems.ts";

/** Who the facts belong to, for messages. */
export interface Owner {
  /** `R5`, `T1.ht`. */
  readonly reference: string;
  /** `resistor`, `winding`. */
  readonly kind: string;
  readonly file: string;
}

const unitNames: Readonly<Record<Unit, string>> = {
  none: "a bare number",
  ohm: "ohms",
  farad: "farads",
  henry: "henries",
  volt: "volts",
  ampere: "amperes",
  watt: "watts",
  voltampere: "volt-amperes",
  hertz: "hertz",
  percent: "per cent",
  metre: "a length",
  "square-metre": "a cross-section",
  celsius: "degrees Celsius",
  second: "seconds",
};

/** What a bare number's letter says that it measures: `22n` farads, `4k7` ohms. */
function letterOf(text: string): "ohm" | "farad" | "milli" | undefined {
  for (let i = text.length - 1; i >= 0; i--) {
    switch (text[i]) {
      case "p":
      case "n":
      case "u":
      case "µ":
      case "μ":
        return "farad";
      case "k":
      case "K":
      case "M":
      case "G":
      case "R":
        return "ohm";
      case "m":
        return "milli";
    }
  }
  return undefined;
}

/** `18AWG` as square millimetres: gauges are steps of one ratio, 39 of them from 0.005 to 0.46 inch (ASTM B258). */
function inSquareMillimetres(text: string): string | undefined {
  const gauge = /^(\d{1,2})AWG$|^AWG(\d{1,2})$/i.exec(text);
  if (!gauge) return undefined;
  const millimetres = 0.127 * 92 ** ((36 - Number(gauge[1] ?? gauge[2])) / 39);
  return `${Number(((Math.PI / 4) * millimetres ** 2).toPrecision(3))}mm2`;
}

/**
 * A fuse's letter and a number with no unit behind it, or not quite one: `T400` is meant as `T400mA`, `T4` as `T4A`. No
 * miniature fuse is made for fewer milliamperes than the least, nor for as many amperes.
 */
function withAmperes(text: string): string | undefined {
  const match = /^(FF|F|TT|T|M)(\d+(?:\.\d+)?)(m?a?)$/i.exec(text);
  if (!match) return undefined;
  const [, letter, number, unit] = match;
  const small = /^m/i.test(unit) || (unit === "" && Number(number) >= miniatureFuse.leastMilliamperes);
  return `${letter.toUpperCase()}${number}${small ? "mA" : "A"}`;
}

/** Letter and number, and the unit behind a blank, as the one fact that they are. */
function spacedFuse(first: Fact, second: Fact): Fact | undefined {
  if (first.label || second.label || first.fuse || !/^m?A$/.test(second.text)) return undefined;
  const fuse = parseFuse(first.text + second.text);
  return (
    fuse && {
      text: `${first.text} ${second.text}`,
      range: { start: first.range.start, end: second.range.end },
      fuse,
    }
  );
}

/** Text of the value alone, its label left out. */
function valueText(fact: Fact): string {
  return fact.label ? fact.text.slice(fact.label.text.length).trimStart() : fact.text;
}

/** Does this quantity measure what the fact asks for? `slip`: the right kind of thing, impossibly small (`1m` for `1M`). */
function suits(spec: NumberFact, quantity: Quantity, text: string): boolean | "slip" {
  if (quantity.unit === spec.unit) {
    return quantity.unit !== "volt" || (quantity.alternating ?? false) === (spec.alternating ?? false);
  }
  if (quantity.unit !== "none" || !spec.bare) return false;
  const letter = letterOf(text);
  if (spec.bare === "ohm") return letter === "milli" ? "slip" : letter !== "farad";
  return letter === "farad" || letter === "milli";
}

/** Reads every fact of a part or row. A wrong one becomes a problem and is left out; the rest is kept. */
export function readFacts(
  table: FactTable,
  facts: readonly Fact[],
  owner: Owner,
  problems: Problems,
): ReadFacts {
  const reader = new Reader(table, owner, problems);
  for (let k = 0; k < facts.length; k++) {
    // A blank before the unit, as any other value may have: `T500 mA`.
    const spaced = table.fuse && k + 1 < facts.length ? spacedFuse(facts[k], facts[k + 1]) : undefined;
    reader.read(spaced ?? facts[k]);
    if (spaced) k++;
  }
  return reader.finish();
}

class Reader {
  private readonly numbers: Record<string, Given | undefined> = {};
  private readonly words: Record<string, string | undefined> = {};
  private readonly places = new Map<string, Place>();
  private type: ReadFacts["type"];
  private fuse: ReadFacts["fuse"];
  private wrong = false;
  /** A tolerance was written with its sign. */
  private signed = false;

  constructor(
    private readonly table: FactTable,
    private readonly owner: Owner,
    private readonly problems: Problems,
  ) {}

  finish(): ReadFacts {
    const { numbers, words, type, fuse, places, wrong } = this;
    return { numbers, words, type, fuse, places, wrong };
  }

  read(fact: Fact): void {
    if (fact.quantity) this.number(fact, fact.quantity);
    else if (fact.fuse && this.table.fuse) this.fuseOf(fact);
    else if (fact.word) this.word(fact, fact.word.text, fact.word.range);
    else this.tell("circuit/unknown-fact", fact.range, this.seriesMessage(fact));
  }

  private number(fact: Fact, quantity: Quantity): void {
    const text = valueText(fact);
    const label = fact.label?.text;
    if (label !== undefined && label !== "dc") {
      const spec = this.table.numbers.find((one) => one.labels?.includes(label));
      const fit = spec && suits(spec, quantity, text);
      if (!spec) this.unknownLabel(fact, label);
      else if (fit === true) this.set(spec, fact, quantity);
      else this.wrongUnit(fact, quantity, [spec], fit === "slip");
      return;
    }
    const direct = label === "dc" || fact.direct === true || /V(?:DC|dc)$/.test(text);
    let slip = false;
    let taken: NumberFact | undefined;
    for (const spec of this.table.numbers) {
      if (spec.labelled || (spec.direct ?? false) !== direct) continue;
      const fit = suits(spec, quantity, text);
      if (fit === "slip") slip = true;
      if (fit !== true) continue;
      if (this.places.has(spec.field) && !(spec.field === "tolerance" && this.signed)) taken ??= spec;
      else {
        this.set(spec, fact, quantity);
        return;
      }
    }
    // `dc` where this kind draws no line between direct and other values: the number counts, the word does no harm.
    const plain =
      direct &&
      this.table.numbers.find(
        (spec) => !spec.labelled && !this.places.has(spec.field) && suits(spec, quantity, text) === true,
      );
    if (plain) this.set(plain, fact, quantity);
    else if (taken) this.twice(fact, quantity, taken);
    else this.wrongUnit(fact, quantity, this.table.numbers, slip);
  }

  private set(spec: NumberFact, fact: Fact, quantity: Quantity): void {
    const place = { file: this.owner.file, range: fact.range };
    if (spec.field === "tolerance" && this.asymmetric(spec, fact, quantity)) return;
    if (this.places.has(spec.field)) {
      this.twice(fact, quantity, spec);
      return;
    }
    this.places.set(spec.field, place);
    const value = spec.scale === undefined ? quantity.value : quantity.value * spec.scale;
    const least = spec.least ?? 0;
    // The schema is asked only where the quick look fails: it says what is wrong, and agrees (see its tests).
    if (!(value > least || (value === least && spec.zero)) || !(value <= spec.most)) {
      const issue = issuesOf(this.table, { [spec.field]: value })[0];
      this.tell(
        "circuit/unit",
        fact.range,
        `${fact.text} is no ${spec.what} for ${this.owner.reference}: ${issue ?? "out of range"}.`,
      );
      return;
    }
    this.numbers[spec.field] = { value, origin: "file", place };
    if (fact.direct || fact.label?.text === "dc") this.words.direct = "direct";
  }

  /** `+50% -10%`: the larger side counts. Gives true where the second side was taken in. */
  private asymmetric(spec: NumberFact, fact: Fact, quantity: Quantity): boolean {
    const isSigned = /^[+\-−]/.test(fact.text);
    if (!isSigned) return false;
    const before = this.numbers[spec.field];
    const value = Math.abs(quantity.value) * (spec.scale ?? 1);
    if (value > spec.most || (before && !this.signed)) return false;
    const place = { file: this.owner.file, range: fact.range };
    this.signed = true;
    if (!before || value > before.value) this.numbers[spec.field] = { value, origin: "file", place };
    this.places.set(spec.field, this.places.get(spec.field) ?? place);
    return true;
  }

  private word(fact: Fact, text: string, range: Range): void {
    const { words, type } = this.table;
    const known = Object.hasOwn(words, text) ? words[text] : undefined;
    if (known) {
      const before = this.words[known.field];
      if (before !== undefined && before !== known.value) {
        this.tell(
          "circuit/unknown-fact",
          range,
          `${this.owner.reference} is ${before} already, so it cannot be ${text} too.`,
        );
        return;
      }
      this.words[known.field] = known.value;
      this.places.set(known.field, { file: this.owner.file, range });
      return;
    }
    if (type && !this.type) {
      this.type = { text, range };
      this.places.set("type", { file: this.owner.file, range });
      return;
    }
    const names = Object.keys(words);
    const place = { file: this.owner.file, range };
    const rated = this.table.fuse ? withAmperes(text) : undefined;
    // The current is there, if not its unit: that it is missing need not be told too.
    if (rated) this.wrong = true;
    const metric = this.table.numbers.some((one) => one.field === "squareMetres")
      ? inSquareMillimetres(text)
      : undefined;
    const { sentence, fix } = metric
      ? {
          sentence: ` A cross-section is written in square millimetres: that is ${metric}.`,
          fix: { title: `Write ${metric}`, place, text: metric },
        }
      : rated
        ? { sentence: ` Did you mean ${rated}?`, fix: { title: `Write ${rated}`, place, text: rated } }
        : near(text, names, place, "Words that it may have");
    this.problems.push(
      problem(
        "circuit/unknown-fact",
        `${this.owner.reference}: ${text} is no fact of a ${this.owner.kind}.${sentence}`,
        this.owner.file,
        fact.range,
        [this.owner.reference],
        { fix },
      ),
    );
  }

  private fuseOf(fact: Fact): void {
    const place = { file: this.owner.file, range: fact.range };
    if (this.fuse || this.places.has("amps")) {
      this.tell("circuit/unknown-fact", fact.range, `${this.owner.reference} has its current already.`);
      return;
    }
    this.fuse = { ...fact.fuse!, place };
    this.places.set("amps", place);
    this.places.set("character", place);
  }

  private seriesMessage(fact: Fact): string {
    return `${this.owner.reference}: ${fact.text} is a row of taps, which only a winding has.`;
  }

  private unknownLabel(fact: Fact, label: string): void {
    const labels = this.table.numbers.flatMap((one) => one.labels ?? []);
    const place = { file: this.owner.file, range: fact.label!.range };
    const { sentence, fix } = near(label, labels, place, "Words that may stand before a value here");
    this.problems.push(
      problem(
        "circuit/unknown-fact",
        `${this.owner.reference}: a ${this.owner.kind} has no ${label}.${sentence}`,
        this.owner.file,
        fact.label!.range,
        [this.owner.reference],
        { fix },
      ),
    );
  }

  private twice(fact: Fact, quantity: Quantity, spec: NumberFact): void {
    const unit = quantity.unit === "none" ? spec.unit : quantity.unit;
    const offered = this.table.numbers.flatMap((one) => {
      const label = one.direct ? "dc" : one.labels?.[0];
      if (one.unit !== unit || label === undefined || this.places.has(one.field)) return [];
      return label === fact.label?.text ? [] : [`${label} ${valueText(fact)} (${one.what})`];
    });
    const offer = offered.length > 0 ? ` Say which with a word: ${either(offered)}.` : "";
    this.tell(
      "circuit/unknown-fact",
      fact.range,
      `${this.owner.reference} has its ${spec.what} already, so ${fact.text} is one too many.${offer}`,
    );
  }

  private wrongUnit(fact: Fact, quantity: Quantity, wanted: readonly NumberFact[], slip: boolean): void {
    const text = valueText(fact);
    const { file, reference, kind } = this.owner;
    this.wrong = true;
    if (slip) {
      const capital = text.replace("m", "M");
      this.problems.push(
        problem(
          "circuit/unit",
          `${reference}: ${text} is a thousandth of an ohm. For megohms write ${capital}.`,
          file,
          fact.range,
          [reference],
          {
            fix: {
              title: `Write ${capital}`,
              place: { file, range: fact.range },
              text: fact.text.replace(text, capital),
            },
          },
        ),
      );
      return;
    }
    // `M315` reads as megohms, and is a fuse's letter.
    const rated = this.table.fuse && fact.label === undefined ? withAmperes(text) : undefined;
    if (rated) {
      const place = { file, range: fact.range };
      this.problems.push(
        problem(
          "circuit/unit",
          `${reference}: ${text} has no unit. Did you mean ${rated}?`,
          file,
          fact.range,
          [reference],
          { fix: { title: `Write ${rated}`, place, text: rated } },
        ),
      );
      return;
    }
    const letter = quantity.unit === "none" ? letterOf(text) : undefined;
    if (this.table.fuse && quantity.unit === "none" && letter === undefined && quantity.value > 0) {
      const meant = `${text}${quantity.value >= miniatureFuse.leastMilliamperes ? "mA" : "A"}`;
      const fix = { title: `Write ${meant}`, place: { file, range: fact.range }, text: meant };
      const message = `${reference}: ${text} has no unit. Did you mean ${meant}? With its letter it says how quick it is: T${meant}.`;
      this.problems.push(problem("circuit/unit", message, file, fact.range, [reference], { fix }));
      return;
    }
    const found =
      letter === "farad" || letter === "ohm"
        ? unitNames[letter]
        : quantity.alternating
          ? "alternating volts"
          : unitNames[quantity.unit];
    const expected = [
      ...new Set(
        wanted.map(({ what, labelled, labels, example }) => {
          const label = labelled && !example.startsWith(`${labels![0]} `) ? `${labels![0]} ` : "";
          return `${what} (${label}${example})`;
        }),
      ),
    ];
    this.tell(
      "circuit/unit",
      fact.range,
      quantity.unit === "none" && letter === undefined
        ? `${reference}: ${fact.text} has no unit. Expected ${either(expected)}.`
        : `${reference}: ${fact.text} is in ${found}, which ${withArticle(kind)} does not have here. Expected ${either(expected)}.`,
    );
  }

  private tell(rule: string, range: Range, message: string): void {
    this.problems.push(problem(rule, message, this.owner.file, range, [this.owner.reference]));
  }
}
