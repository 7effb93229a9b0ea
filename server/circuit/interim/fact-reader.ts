/** The facts of one part as written, taken one by one by unit, label or word. What nobody takes is told. */
import { didYouMean } from "../../../grammar/near.ts";
import type { Fact, Quantity, Unit } from "../../../grammar/tree.ts";
import type { CircuitProblem, Given, Origin, Place } from "../model.ts";

const UNIT_WORDS: Readonly<Record<Unit, string>> = {
  none: "a bare number",
  ohm: "ohms",
  farad: "farads",
  henry: "henries",
  volt: "volts",
  ampere: "amperes",
  watt: "watts",
  voltampere: "volt-amperes",
  hertz: "hertz",
  percent: "percent",
  metre: "metres",
  "square-metre": "square millimetres",
  celsius: "degrees",
  second: "seconds",
};

export interface Want {
  /** Units taken; `none` lets a bare number in. */
  readonly units: readonly Unit[];
  /** The word that must stand before it; without one, only unlabelled quantities are taken. */
  readonly label?: string | readonly string[];
  /** Least and largest value that make sense, SI. */
  readonly range?: readonly [least: number, largest: number];
  /** Only a quantity marked `dc`, or only one that is not, or (left out) either. */
  readonly direct?: boolean;
  /** Only alternating volts (`275VAC`), or only others. */
  readonly alternating?: boolean;
}

export class FactReader {
  readonly places = new Map<string, Place>();
  readonly #left: Fact[];

  constructor(
    facts: readonly Fact[],
    private readonly file: string,
    /** "resistor R5", for messages. */
    readonly subject: string,
    private readonly on: string,
    private readonly problems: CircuitProblem[],
  ) {
    this.#left = [...facts];
  }

  place(fact: Fact): Place {
    return { file: this.file, range: fact.range };
  }

  problem(rule: string, message: string, fact: Fact): void {
    this.problems.push({ rule, message, place: this.place(fact), on: [this.on] });
  }

  #matches(fact: Fact, want: Want): boolean {
    const labels = want.label === undefined ? undefined : ([] as string[]).concat(want.label);
    if ((fact.label === undefined) !== (labels === undefined)) return false;
    if (labels && !labels.includes(fact.label?.text ?? "")) return false;
    if (fact.quantity === undefined || !want.units.includes(fact.quantity.unit)) return false;
    if (want.direct !== undefined && (fact.direct === true) !== want.direct) return false;
    return want.alternating === undefined || (fact.quantity.alternating === true) === want.alternating;
  }

  /** Takes the first quantity that fits; a second one of the same sort is told. */
  quantity(field: string, want: Want): Given | undefined {
    const index = this.#left.findIndex((fact) => this.#matches(fact, want));
    if (index < 0) return undefined;
    const [fact] = this.#left.splice(index, 1);
    const place = this.place(fact);
    this.places.set(field, place);
    const { value } = fact.quantity as Quantity;
    const [least, largest] = want.range ?? [0, Number.POSITIVE_INFINITY];
    if (!Number.isFinite(value) || value < least || value > largest) {
      this.problem("circuit/unit", `${fact.text} makes no sense as the ${UNIT_WORDS[want.units[0]]} of ${this.subject}.`, fact);
      return undefined;
    }
    const again = this.#left.find((other) => this.#matches(other, want));
    if (again) {
      this.#left.splice(this.#left.indexOf(again), 1);
      this.problem("circuit/unit", `${this.subject} has ${UNIT_WORDS[want.units[0]]} twice: ${fact.text} and ${again.text}. The first counts.`, again);
    }
    return { value, origin: "file", place };
  }

  /** Takes a word out of a set. */
  word<T extends string>(field: string, words: readonly T[]): T | undefined {
    const index = this.#left.findIndex(
      (fact) => fact.label === undefined && words.some((word) => word.toLowerCase() === fact.text.toLowerCase()),
    );
    if (index < 0) return undefined;
    const [fact] = this.#left.splice(index, 1);
    this.places.set(field, this.place(fact));
    return words.find((word) => word.toLowerCase() === fact.text.toLowerCase());
  }

  /** Takes the first fact that the test likes. */
  take(field: string, test: (fact: Fact) => boolean): Fact | undefined {
    const index = this.#left.findIndex(test);
    if (index < 0) return undefined;
    const [fact] = this.#left.splice(index, 1);
    this.places.set(field, this.place(fact));
    return fact;
  }

  /** Words and quantities that no one took. @param words what could have stood there */
  finish(words: readonly string[]): void {
    for (const fact of this.#left) {
      const text = fact.text;
      if (fact.quantity && fact.quantity.unit !== "none")
        this.problem("circuit/unit", `${text}: ${this.subject} has no use for ${fact.label ? `${fact.label.text} in ` : ""}${UNIT_WORDS[fact.quantity.unit]} here.`, fact);
      else if (fact.quantity || fact.series || fact.fuse)
        this.problem("circuit/unit", `${text} is no value that ${this.subject} can use.`, fact);
      else
        this.problem("circuit/unknown-fact", `${this.subject} has no fact called ${text}.${didYouMean(text, words)}`, fact);
    }
    this.#left.length = 0;
  }
}

/** A figure that the file does not give. */
export function assumed(value: number, origin: Origin, source: string): Given {
  return { value, origin, source };
}
