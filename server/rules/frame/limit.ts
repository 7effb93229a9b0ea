/** One value held against one limit: counted, compared, and told in the order that the trade expects. */
import type { MainsLevel, Place } from "../../circuit/model.ts";
import type { StateName } from "../../physics/results.ts";
import type { Finding, Fix, Margin, Related, Rule, RuleContext, Severity } from "../rule.ts";
import { finding } from "./finding.ts";
import { percent, type QuantityUnit, quantity } from "./quantity.ts";
import { alsoCold, when } from "./state.ts";

/** What a limit's finding is made of besides its figures. */
export interface LimitWords {
  /** Subject and verb before the quantity: "C22 sees", "V3's plate dissipates". */
  readonly says: string;
  /** What the limit is, before its quantity; "rated" where left out. */
  readonly limitIs?: string;
  /** The state in words, where its own ("at full drive") would not be true. */
  readonly stateWords?: string;
  /** Why it is so, in brackets behind the state: "HT3 unloaded". */
  readonly note?: string;
  /** The sentence on the estimate that the value rests on. */
  readonly estimate?: string;
  /** What to do, a sentence with its full stop. */
  readonly todo?: string;
  /** A function where they cost something: it is only asked for a finding. */
  readonly related?: readonly (Related | undefined)[] | (() => readonly (Related | undefined)[]);
  readonly fix?: Fix;
}

/** What a rule limits, in words: "capacitor voltage". */
export const limitName = (rule: string): string => rule.slice(rule.indexOf("/") + 1).replaceAll("-", " ");

export interface LimitFigures {
  readonly on: string | readonly string[];
  readonly place: Place;
  readonly value: number;
  readonly limit: number;
  readonly unit: QuantityUnit;
  /** `above` (left out): the value may not pass the limit; `below`: it may not fall under it. */
  readonly breach?: "above" | "below";
  /** Share of the limit that practice allows (0.9); past it is a warning. For `below`: 1.1 and the like. */
  readonly margin?: number;
  /** Where the margin comes from; "common practice" where left out. */
  readonly marginSource?: string;
  /** Left out: the rule's severity past the limit, `warning` past the margin. */
  readonly severity?: Severity;
  readonly marginSeverity?: Severity;
  readonly state?: StateName;
  readonly mains?: MainsLevel;
  readonly source?: string;
}

/** Words as a function are only asked for a finding: nearly every limit holds, and a message costs more than all else. */
export type LimitInput = LimitFigures & ((LimitWords & { readonly words?: undefined }) | LazyWords);

interface LazyWords {
  readonly words: () => LimitWords;
}

/** Rounding of written figures must not breach a limit that is met exactly. */
const EXACT = 1e-9;

/**
 * Hold `value` against `limit`, count it as checked, and give the finding where it is past the limit or the margin.
 * A value that is not a number is nobody's pass: it is recorded as unchecked.
 */
export function limit(context: RuleContext, rule: Rule, input: LimitInput): Finding | undefined {
  const { value, limit: bound, margin } = input;
  const leading = typeof input.on === "string" ? input.on : input.on[0];
  if (Number.isNaN(value) || Number.isNaN(bound)) {
    context.unchecked(leading, `${rule.id}: the figure could not be computed`, input.place);
    return undefined;
  }
  context.checked(leading, {
    on: leading,
    rule: rule.id,
    value,
    limit: bound,
    unit: input.unit,
    breach: input.breach ?? "above",
    state: input.state,
    mains: input.mains,
    source: input.source ?? rule.source,
  });
  const below = input.breach === "below";
  const over = isPast(value, bound, below);
  if (!over && (margin === undefined || !isPast(value, bound * margin, below))) return undefined;
  return past(context, rule, input, over);
}

/**
 * A limit that is kept by far, whatever the parts' tolerances do: counted, and its figure, which costs a solve of its own, worked
 * out when somebody asks for it.
 */
export function kept(
  context: RuleContext,
  rule: Rule,
  input: Pick<LimitFigures, "on" | "limit" | "unit" | "breach" | "source"> & { readonly worst: () => Figure },
): void {
  const leading = typeof input.on === "string" ? input.on : input.on[0];
  context.checked(leading, new Kept(leading, rule, input));
}

/**
 * A limit held whose figure is found when somebody asks for it. A class: of object literals with getters each would have a shape of
 * its own, which keeps all that they reach from the small collections.
 */
class Kept implements Margin {
  readonly rule: Margin["rule"];
  readonly limit: Margin["limit"];
  readonly unit: Margin["unit"];
  readonly breach: Margin["breach"];
  readonly source: Margin["source"];
  private readonly worst: () => Figure;
  private found: Figure | undefined;
  constructor(
    readonly on: string,
    rule: Rule,
    input: Parameters<typeof kept>[2],
  ) {
    this.rule = rule.id;
    this.limit = input.limit;
    this.unit = input.unit;
    this.breach = input.breach ?? "above";
    this.source = input.source ?? rule.source;
    this.worst = input.worst;
  }
  private get figure(): Figure {
    this.found ??= this.worst();
    return this.found;
  }
  get value() {
    return this.figure.value;
  }
  get state() {
    return this.figure.state;
  }
  get mains() {
    return this.figure.mains;
  }
  /** Whoever writes it out gets what an interface promises, and nothing of how it is found. */
  toJSON(): Margin {
    const { on, rule, value, limit, unit, breach, state, mains, source } = this;
    return { on, rule, value, limit, unit, breach, state, mains, source };
  }
}

type Figure = Pick<LimitFigures, "value" | "state" | "mains">;

function isPast(value: number, bound: number, below: boolean): boolean {
  const slack = Math.abs(bound) * EXACT;
  return below ? value < bound - slack : value > bound + slack;
}

/** @param over past the limit itself, not only past its margin */
function past(context: RuleContext, rule: Rule, input: LimitInput, over: boolean): Finding {
  const words = input.words === undefined ? input : input.words();
  const below = input.breach === "below";
  const marginAt = input.margin === undefined ? undefined : input.limit * input.margin;
  const state = words.stateWords
    ? [words.stateWords, when(undefined, input.mains)].filter(Boolean).join(" ")
    : when(input.state, input.mains);
  const note = words.note ? ` (${words.note})` : "";
  const shown = quantities(input.value, input.limit, input.unit);
  const limitIs = `${words.limitIs ?? "rated"} ${shown.limit}`;
  const ratio = input.limit === 0 ? Number.NaN : Math.abs(input.value / input.limit - 1);
  const by = Number.isNaN(ratio) || ratio > 20 ? "" : ` by ${percent(ratio)}`;
  const verdict = over
    ? `${below ? "under" : "over"}${by}`
    : `${shareOf(Math.abs(input.value / input.limit), input.margin ?? 1)} of ${input.marginSource ?? "common practice"}`;
  const sentences = [
    `${words.says} ${shown.value}${state ? ` ${state}` : ""}${note}; ${limitIs}, ${verdict}.`,
    alsoCold(context.analysis, input.state),
    words.todo,
    words.estimate && sentence(words.estimate),
  ];
  return finding(rule, {
    message: sentences.filter(Boolean).join(" "),
    on: input.on,
    place: input.place,
    severity: over ? input.severity : (input.marginSeverity ?? "warning"),
    related: typeof words.related === "function" ? words.related() : words.related,
    state: input.state,
    mains: input.mains,
    value: input.value,
    limit: over ? input.limit : (marginAt ?? input.limit),
    unit: input.unit,
    source: input.source,
    fix: words.fix,
  });
}

/** As a sentence of its own: a capital first, a full stop last. */
function sentence(text: string): string {
  return `${text.charAt(0).toUpperCase()}${text.slice(1).replace(/\.$/, "")}.`;
}

/** "68 % of it, past the 50 %"; "just past the 50 %" where rounding makes the two alike. */
function shareOf(share: number, margin: number): string {
  const [is, kept] = [percent(share), percent(margin)];
  return is === kept ? `just past the ${kept}` : `${is} of it, past the ${kept}`;
}

/** Both figures with as many places as it takes to tell them apart: never "400 V; rated 400 V, over". */
function quantities(value: number, bound: number, unit: QuantityUnit): { value: string; limit: string } {
  for (let figures = 3; figures < 7; figures++) {
    const pair = { value: quantity(value, unit, figures), limit: quantity(bound, unit, figures) };
    if (pair.value !== pair.limit) return pair;
  }
  return { value: quantity(value, unit), limit: quantity(bound, unit) };
}

/**
 * The share of a rating that practice allows: `assume derate` in the file, then the options, then the default.
 * @param family `resistor`, `capacitor`, `valve`… as written behind `assume derate`
 */
export function margin(
  context: RuleContext,
  family: string,
  standard: number,
  standardSource = "common practice",
): { readonly margin: number; readonly marginSource: string } {
  const written = context.circuit.assumptions.derate.get(family);
  if (written) return { margin: written.value, marginSource: "the file's own derating" };
  const configured = context.options.margins?.[family];
  if (configured !== undefined) return { margin: configured, marginSource: "the configured margin" };
  return { margin: standard, marginSource: standardSource };
}
