/**
 * Where something of a circuit has no solution, nothing of it may pass in silence. Which limits it would have been held to is known
 * to the rules alone: they are asked with a guess at its figures, and what they would have told or counted, and do not without that
 * guess, is unchecked. This is the one place that counts it.
 */
import { kindOf } from "../../circuit/kinds/index.ts";
import type { Circuit, Place } from "../../circuit/model.ts";
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
  {
    blind,
    rest,
    guessed,
  }: { readonly blind: Asked; readonly rest: Asked; readonly guessed: readonly Asked[] },
): Gathered {
  const unsolved = new Lacking(analysis);
  const tally = new Tally();
  const kept = new Set<string>();
  const keptFigures = new Set<string>();
  const missed: { readonly on: string; readonly rule: string; readonly place?: Place }[] = [];

  // What is told without any figure is told whatever the figures are; what is told of one alone must be of one that was found.
  const plainly = new Set(blind.found.map(saidBy));
  const [first] = guessed;
  const guess = new Set(first.found.map(saidBy));
  const found = rest.found.filter((one) => {
    const said = saidBy(one);
    const stands =
      plainly.has(said) ||
      (guess.has(said) && !one.on.some((on) => unsolved.always(on))) ||
      (one.value !== undefined && Number.isFinite(one.value) && !unsolved.concerns(one, one.on));
    // Past its margin in a state that is solved, a limit may be passed itself in another.
    const open = one.value !== undefined && one.severity !== "error" && unsolved.ever(one.on[0]);
    if (stands && !open) kept.add(limitOf(one.on[0], one.rule));
    if (!stands) missed.push({ on: one.on[0], rule: one.rule, place: one.place });
    return stands;
  });
  for (const guess of guessed)
    for (const one of guess.found) missed.push({ on: one.on[0], rule: one.rule, place: one.place });

  const blindly = new Set(blind.tally.margins.map(figuresOf));
  const likely = new Set(first.tally.margins.map(figuresOf));
  for (const margin of rest.tally.margins) {
    const figures = figuresOf(margin);
    // A limit that is kept in the states that are solved may be passed in the others; one that is passed is passed.
    const stands =
      blindly.has(figures) ||
      (likely.has(figures) && !unsolved.ever(margin.on)) ||
      (isPassed(margin) && !unsolved.concerns(margin, [margin.on]));
    if (stands) {
      kept.add(limitOf(margin.on, margin.rule));
      keptFigures.add(figures);
      tally.check(margin.on, margin);
    } else missed.push(margin);
  }
  const passed = new Set(found.filter(isError).map(({ on, rule }) => limitOf(on[0], rule)));
  const alsoMissed: { readonly on: string; readonly rule: string; readonly place?: Place }[] = [];
  for (const guess of guessed) {
    for (const margin of guess.tally.margins) {
      const limit = limitOf(margin.on, margin.rule);
      if (!kept.has(limit)) missed.push(margin);
      // A rule may hold a part to several limits, and some of them need no figure.
      else if (!passed.has(limit) && unsolved.ever(margin.on) && !keptFigures.has(figuresOf(margin)))
        alsoMissed.push(margin);
    }
  }

  const without = new Set(blind.plain.map(({ on, rule }) => limitOf(on, rule)));
  for (const one of rest.plain) {
    if (without.has(limitOf(one.on, one.rule)) || !unsolved.ever(one.on)) {
      kept.add(limitOf(one.on, one.rule));
      tally.check(one.on);
    } else missed.push(one);
  }
  for (const guess of guessed) missed.push(...guess.plain);

  // What the file does not say is told as it is of a circuit with its solution.
  for (const guess of guessed) tally.takeMissed(guess.tally);
  const told = new Set<string>();
  const heldTo = new Set(tally.margins.map(({ on }) => on));
  const toMiss = [...missed.filter(({ on, rule }) => !kept.has(limitOf(on, rule))), ...alsoMissed];
  for (const { on, rule, place } of toMiss) {
    tally.miss(on, limitName(rule), place ?? placeOf(circuit, on), unsolved.reason(on));
    told.add(on.split(".", 1)[0]);
  }
  // What the guess does not stress may be stressed in truth.
  for (const part of circuit.parts) {
    const { reference, kind, referencePlace } = part;
    if (told.has(reference) || heldTo.has(reference) || !unsolved.ever(reference)) continue;
    for (const limit of kindOf(kind)?.limits ?? [])
      tally.miss(reference, limit, referencePlace, unsolved.reason(reference));
  }
  return { found, tally };
}

const limitOf = (on: string, rule: string): string => `${rule} ${on}`;
const saidBy = ({ rule, on, message }: Finding): string => `${rule} ${on[0]} ${message}`;
const figuresOf = ({ on, rule, value, limit, state, mains }: Margin): string =>
  [rule, on, value.toPrecision(9), limit.toPrecision(9), state, mains].join(" ");
const isError = ({ severity }: Finding): boolean => severity === "error";

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

function placeOf(circuit: Circuit, on: string): Place {
  for (let name = on; ; name = name.slice(0, name.lastIndexOf("."))) {
    const part = circuit.partByReference.get(name);
    if (part) return part.referencePlace;
    if (!name.includes(".")) break;
  }
  const net = circuit.netByName.get(on);
  return (net === undefined ? undefined : circuit.nets[net].mentions[0]) ?? topOf(circuit);
}
