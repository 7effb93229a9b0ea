/**
 * Where something of a circuit has no solution, nothing of it may pass in silence. Which limits it would have been held to is known
 * to the rules alone: they are asked with a guess at its figures, and what they would have told or counted, and do not without that
 * guess, is unchecked. This is the one place that counts it.
 */
import { kindOf } from "../../circuit/kinds/index.ts";
import type { Circuit, Part, Place } from "../../circuit/model.ts";
import { isUnsolved } from "../../physics/dc/unsolved.ts";
import type { Analysis, Unsolved } from "../../physics/results.ts";
import type { Finding, Margin } from "../rule.ts";
import { topOf } from "./found.ts";
import { limitName } from "./limit.ts";
import { LEVELS } from "./state.ts";
import { Tally } from "./tally.ts";

export interface Gathered {
  readonly found: readonly Finding[];
  readonly tally: Tally;
}

/** What was counted without a number. */
export type Plain = { on: string; rule: string }[];

export interface Asked extends Gathered {
  readonly plain: Readonly<Plain>;
}

/**
 * @param analysis the one that tells the figures of what is solved
 * @param asked    what the rules said: of a circuit without any figure, with those of what is solved, and with a guess at the others
 */
export function withoutGuesses(
  circuit: Circuit,
  analysis: Analysis,
  asked: { readonly blind: Asked; readonly rest: Asked; readonly guessed: readonly Asked[] },
): Gathered {
  return new Sorting(circuit, new Lacking(analysis), asked).gathered();
}

/** What is not known, and where it would be told. */
interface Open {
  readonly on: string;
  readonly rule: string;
  readonly place?: Place;
}

class Sorting {
  private readonly tally = new Tally();
  /** Limits, by what a finding says of them, by a margin, and by having been looked at. */
  private readonly told = new Set<string>();
  private readonly held = new Set<string>();
  private readonly seen = new Set<string>();
  /** The margins that stand, by their figures. */
  private readonly figures = new Set<string>();
  private readonly open: Open[] = [];
  /** The guess that has the very figures of what is solved; the others were found by themselves, and differ in their last places. */
  private readonly first: Asked;

  constructor(
    private readonly circuit: Circuit,
    private readonly unsolved: Lacking,
    private readonly asked: Parameters<typeof withoutGuesses>[2],
  ) {
    [this.first] = asked.guessed;
  }

  gathered(): Gathered {
    const { guessed } = this.asked;
    const found = this.findings();
    this.margins();
    this.plain();
    for (const guess of guessed) {
      for (const { on, rule, place } of guess.found) this.unlessKnown({ on: on[0], rule, place });
      for (const one of guess.plain) this.unlessKnown(one);
      for (const margin of guess.tally.margins) this.unlessHeld(margin, guess === this.first);
      // What the file does not say is told as it is of a circuit with its solution.
      this.tally.takeMissed(guess.tally);
    }
    this.countOpen();
    return { found, tally: this.tally };
  }

  /** What is told without any figure is told whatever they are; what is told of one must be told of one that was found. */
  private findings(): readonly Finding[] {
    const { unsolved } = this;
    const plainly = new Set(this.asked.blind.found.map(saidBy));
    const guess = new Set(this.first.found.map(saidBy));
    return this.asked.rest.found.filter((one) => {
      const said = saidBy(one);
      const { value, rule, place, severity } = one;
      const [on] = one.on;
      const stands =
        plainly.has(said) ||
        (guess.has(said) && !one.on.some((each) => unsolved.always(each))) ||
        (value !== undefined && Number.isFinite(value) && !unsolved.concerns(one, one.on));
      if (!stands) this.open.push({ on, rule, place });
      // Past its margin in a state that is solved, a limit may be passed itself in another.
      else if (value === undefined || severity === "error" || !unsolved.ever(on))
        this.told.add(limitOf(on, rule));
      return stands;
    });
  }

  /** A limit that is kept in the states that are solved may be passed in the others; one that is passed is passed. */
  private margins(): void {
    const { unsolved } = this;
    const blindly = new Set(this.asked.blind.tally.margins.map(figuresOf));
    const likely = new Set(this.first.tally.margins.map(figuresOf));
    for (const margin of this.asked.rest.tally.margins) {
      const figures = figuresOf(margin);
      const { on, rule } = margin;
      const stands =
        blindly.has(figures) ||
        (likely.has(figures) && !unsolved.ever(on)) ||
        (isPassed(margin) && !unsolved.concerns(margin, [on]));
      if (stands) {
        this.held.add(limitOf(on, rule));
        this.figures.add(figures);
        this.tally.check(on, margin);
      } else if (!this.told.has(limitOf(on, rule))) this.open.push({ on, rule });
    }
  }

  private plain(): void {
    const blindly = new Set(this.asked.blind.plain.map(({ on, rule }) => limitOf(on, rule)));
    for (const { on, rule } of this.asked.rest.plain) {
      if (blindly.has(limitOf(on, rule)) || !this.unsolved.ever(on)) {
        this.seen.add(limitOf(on, rule));
        this.tally.check(on);
      } else this.unlessKnown({ on, rule });
    }
  }

  private unlessKnown(one: Open): void {
    const limit = limitOf(one.on, one.rule);
    if (!this.told.has(limit) && !this.held.has(limit) && !this.seen.has(limit)) this.open.push(one);
  }

  /** A rule may hold a part to several limits, and know the figures of some of them. */
  private unlessHeld(margin: Margin, exact: boolean): void {
    const { on, rule } = margin;
    const limit = limitOf(on, rule);
    if (this.told.has(limit) || this.figures.has(figuresOf(margin))) return;
    if (!exact && this.held.has(limit) && !this.unsolved.ever(on)) return;
    this.open.push({ on, rule });
  }

  private countOpen(): void {
    const { circuit, unsolved, tally } = this;
    const counted = new Set(tally.margins.map(({ on }) => on));
    for (const { on, rule, place } of this.open) {
      tally.miss(on, limitName(rule), place ?? placeOf(circuit, on), unsolved.reason(on));
      counted.add(partOf(circuit, on)?.reference ?? on);
    }
    // What no guess stresses may be stressed in truth.
    for (const { reference, kind, referencePlace } of circuit.parts) {
      if (counted.has(reference) || !unsolved.ever(reference)) continue;
      for (const limit of kindOf(kind)?.limits ?? [])
        tally.miss(reference, limit, referencePlace, unsolved.reason(reference));
    }
  }
}

const limitOf = (on: string, rule: string): string => `${rule} ${on}`;
const saidBy = ({ rule, on, message }: Finding): string => `${rule} ${on[0]} ${message}`;
const figuresOf = ({ on, rule, value, limit, state, mains }: Margin): string =>
  [rule, on, value.toPrecision(9), limit.toPrecision(9), state, mains].join(" ");

function isPassed({ value, limit, breach }: Margin): boolean {
  return breach === "below" ? value < limit : value > limit;
}

/** What is unsolved in which state. */
class Lacking {
  private readonly solutions: readonly {
    readonly state: string;
    readonly mains: string;
    readonly unsolved?: Unsolved;
  }[];

  constructor(analysis: Analysis) {
    this.solutions = analysis.states.flatMap((state) =>
      LEVELS.map((mains) => ({ state, mains, unsolved: analysis.solution(state, mains)?.unsolved })),
    );
  }

  /** In any state. */
  ever(on: string): boolean {
    return this.solutions.some(({ unsolved }) => unsolved && lacks(unsolved, on));
  }

  /** In every state. */
  always(on: string): boolean {
    return this.solutions.every(({ unsolved }) => unsolved && lacks(unsolved, on));
  }

  /** In the states that a figure is of. */
  concerns({ state, mains }: Pick<Margin, "state" | "mains">, on: readonly string[]): boolean {
    const own = state === "drive" ? "idle" : state;
    return this.solutions.some(
      (one) =>
        (own === undefined || own === one.state) &&
        (mains === undefined || mains === one.mains) &&
        one.unsolved !== undefined &&
        on.some((each) => lacks(one.unsolved as Unsolved, each)),
    );
  }

  reason(on: string): string {
    for (const { unsolved } of this.solutions) {
      if (!unsolved) continue;
      const transformer = unsolved.transformers.find((one) => on === one || on.startsWith(`${one}.`));
      if (transformer) return `something on ${transformer} has no solution and its load is unknown`;
      if (lacks(unsolved, on)) return "its part of the circuit has no solution";
    }
    return "it rests on a part of the circuit that has no solution";
  }
}

/** A part of which any section or heater is unsolved is so itself. */
function lacks(unsolved: Unsolved, on: string): boolean {
  if (isUnsolved(unsolved, on)) return true;
  for (const part of unsolved.parts) if (part.startsWith(`${on}.`)) return true;
  return false;
}

/** The part that a winding, a section or an electrode belongs to. */
function partOf(circuit: Circuit, on: string): Part | undefined {
  for (let name = on; ; name = name.slice(0, name.lastIndexOf("."))) {
    const part = circuit.partByReference.get(name);
    if (part || !name.includes(".")) return part;
  }
}

function placeOf(circuit: Circuit, on: string): Place {
  const part = partOf(circuit, on);
  if (part) return part.referencePlace;
  const net = circuit.netByName.get(on);
  return (net === undefined ? undefined : circuit.nets[net].mentions[0]) ?? topOf(circuit);
}
