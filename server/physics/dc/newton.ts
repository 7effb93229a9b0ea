/**
 * Newton's method on a network, and what to try where it alone does not arrive: stepping the sources up, then letting a
 * conductance at every node fade (gmin stepping), then letting every node charge as if it had a capacitor (pseudo-transient
 * continuation: Kelley and Keyes, SIAM J. Numer. Anal. 35, 1998). None of the helps is left in the answer.
 */
import { atOnce, type InSteps } from "../../circuit/in-steps.ts";
import { copyOf, doubles } from "../linear/slabs.ts";
import type { DcSystem } from "./system.ts";

/** Kirchhoff's current law at every net. */
export const RESIDUAL_AMPS = 1e-9;
/** Last step of every net. */
export const STEP_VOLTS = 1e-6;
/** Branch equations, volts. */
const RESIDUAL_VOLTS = 1e-6;
/**
 * A supply is evaluated anew when its volts or amperes have moved by more since it last was, in the final answer: so much and
 * such a part of them. What its straight line misses goes with the square: some millionths.
 */
const HELD_VOLTS = 1e-3;
const HELD_AMPS = 1e-5;
const HELD_VOLTS_SHARE = 3e-4;
const HELD_AMPS_SHARE = 1e-3;
const MOST_STEPS = 60;
/** Unknowns of a network from which a look takes milliseconds. */
const LARGE = 500;
/** A supply costs far more than the rest: a circuit that has not settled by so many looks at each is told as unsolved. */
const MOST_HEAVY = 40;
/** Where gmin stepping ends: 1 kV drives 1 nA through it. */
const LEAKAGE_SIEMENS = 1e-12;
/** No step of a circuit that bends goes further, in volts: what overshoots from a flat curve comes back all the sooner. */
const FARTHEST_VOLTS = 2000;

export interface NewtonResult {
  readonly converged: boolean;
  readonly steps: number;
  /** Which of the helps it took. */
  readonly by: "newton" | "sources" | "gmin" | "leakage" | "transient";
  /** Where it stands still or does not settle: an unknown, -1 if none in particular. */
  readonly worst: number;
  readonly singular: boolean;
}

interface Help {
  /** Part of the sources that is on: the residual at rest is lessened by the rest of it. */
  readonly sources: number;
  /** Siemens from every node to where `anchor` holds it. */
  readonly siemens: number;
  readonly anchor: Float64Array | null;
}

const NO_HELP: Help = { sources: 1, siemens: 0, anchor: null };

/**
 * Solve from x, in place.
 * @param x in: where to start (all zero from cold); out: the solution, or where it stopped
 */
export function solveDc(system: DcSystem, x: Float64Array): NewtonResult {
  return atOnce(solveDcInSteps(system, x));
}

/** The same with a stop at every look, where the network is large enough for a look to take long. */
export function* solveDcInSteps(system: DcSystem, x: Float64Array): InSteps<NewtonResult> {
  const start = copyOf(x);
  const search = new Search(system, x);
  let last = yield* search.attempt(NO_HELP);
  const done = (by: NewtonResult["by"]): NewtonResult => ({
    converged: last.converged,
    steps: search.steps,
    by,
    worst: last.worst,
    singular: last.singular,
  });
  if (last.converged || system.linear || search.spent) return done("newton");

  // Sources up from nothing, the step halved where it fails and grown where it goes.
  x.fill(0);
  let reached = 0;
  let stride = 0.25;
  const good = copyOf(x);
  while (reached < 1 && stride > 1e-3 && !search.spent) {
    const next = Math.min(1, reached + stride);
    if ((yield* search.attempt({ sources: next, siemens: 0, anchor: null }, 30)).converged) {
      reached = next;
      good.set(x);
      stride *= 2;
    } else {
      x.set(good);
      stride /= 4;
    }
  }
  if (reached >= 1) {
    last = yield* search.attempt(NO_HELP);
    if (last.converged) return done("sources");
  }

  // A conductance from every node to common, fading.
  x.fill(0);
  let siemens = 1e-2;
  let faded = Number.POSITIVE_INFINITY;
  let factor = 10;
  good.set(x);
  while (faded > LEAKAGE_SIEMENS && factor > 1.02 && siemens < 10 && !search.spent) {
    if ((yield* search.attempt({ sources: 1, siemens, anchor: null }, 30)).converged) {
      good.set(x);
      faded = siemens;
      factor = Math.min(10, factor * factor);
      siemens = Math.max(faded / factor, LEAKAGE_SIEMENS);
    } else {
      x.set(good);
      if (faded === Number.POSITIVE_INFINITY) siemens *= 10;
      else {
        factor = Math.sqrt(factor);
        siemens = faded / factor;
      }
    }
  }
  last = yield* search.attempt(NO_HELP);
  if (last.converged) return done("gmin");
  // A net between valves that are cut off is decided by picoamperes: without the help its volts wander where no current tells one
  // place from another. What the help gives is as good, as long as its own current stays under what counts as balanced.
  if (faded <= LEAKAGE_SIEMENS) {
    x.set(good);
    last = yield* search.attempt({ sources: 1, siemens: faded, anchor: null });
    const most = x.reduce((sum, v, i) => (i < system.nodeUnknowns ? Math.max(sum, Math.abs(v)) : sum), 0);
    if (last.converged && most * faded < RESIDUAL_AMPS) return done("leakage");
  }

  // Time steps of a circuit with a capacitor at every node, growing as it settles.
  x.set(start);
  const anchor = doubles(x.length);
  siemens = 1e-2;
  for (let k = 0; k < 400 && siemens > 1e-12 && !search.spent; k++) {
    anchor.set(x);
    if ((yield* search.attempt({ sources: 1, siemens, anchor }, 12)).converged) {
      let moved = 0;
      for (let i = 0; i < system.nodeUnknowns; i++) moved = Math.max(moved, Math.abs(x[i] - anchor[i]));
      siemens /= moved < 5 ? 4 : moved < 50 ? 2 : 1.2;
    } else {
      x.set(anchor);
      siemens *= 6;
      if (siemens > 1e4) break;
    }
  }
  last = yield* search.attempt(NO_HELP);
  return done("transient");
}

/** The attempts at one solution, and what they have cost. */
class Search {
  steps = 0;
  constructor(
    private readonly system: DcSystem,
    private readonly x: Float64Array,
  ) {
    system.heavyEvaluations = 0;
  }
  *attempt(help: Help, most = MOST_STEPS): InSteps<Attempt> {
    const result = yield* newton(this.system, this.x, help, most);
    this.steps += result.steps;
    return result;
  }
  /** Whether the supplies have been looked at as often as a circuit that settles needs. */
  get spent(): boolean {
    return this.system.heavyEvaluations > mostHeavy(this.system);
  }
}

interface Attempt {
  readonly converged: boolean;
  readonly steps: number;
  readonly worst: number;
  readonly singular: boolean;
}

/**
 * Newton's method from x with no help, for steps of a transient, which start close: balanced currents suffice, and no factors are
 * kept.
 */
export function newtonFrom(system: DcSystem, x: Float64Array): boolean {
  return atOnce(newton(system, x, NO_HELP, 25, { balanced: true })).converged;
}

/**
 * The last correction, with the supplies as they have just been looked at.
 * @returns how far they have moved from there, in parts of a thousandth; undefined when it did not converge
 */
export function* polish(system: DcSystem, x: Float64Array): InSteps<number | undefined> {
  if (!(yield* newton(system, x, NO_HELP, 25, { held: true })).converged) return undefined;
  let moved = 0;
  for (const { heavy, x: to, at } of system.moving) {
    if (!heavy) continue;
    for (let c = 0; c < to.length; c++) {
      moved = Math.max(moved, (1e3 * Math.abs(to[c] - at[c])) / (Math.abs(to[c]) + LEAST_AMPS));
    }
  }
  return moved;
}

/** Amperes (and volts) below which a supply's relative movement is of no interest. */
const LEAST_AMPS = 1e-3;

interface Manner {
  /** Balanced currents suffice, whatever the last step. */
  readonly balanced?: boolean;
  /** The supplies' straight lines stay as they are. */
  readonly held?: boolean;
}

function* newton(
  system: DcSystem,
  x: Float64Array,
  help: Help,
  most: number,
  manner: Manner = {},
): InSteps<Attempt> {
  const { size, nodeUnknowns, values, diagonal, lu } = system;
  const residual = doubles(size);
  const step = doubles(size);
  let lastStep = Number.POSITIVE_INFINITY;
  let worst = -1;
  let renew = true;
  const { balanced, held } = manner;
  for (let k = 0; k < most; k++) {
    if (size > LARGE) yield;
    system.evaluate(x, k === 0, renew && !held);
    system.assemble(x, residual);
    if (help.sources !== 1) system.lessenSources(residual, 1 - help.sources);
    if (help.siemens > 0) {
      for (let i = 0; i < nodeUnknowns; i++) {
        values[diagonal[i]] += help.siemens;
        residual[i] += help.siemens * (x[i] - (help.anchor ? help.anchor[i] : 0));
      }
    }
    let largest = 0;
    worst = -1;
    for (let i = 0; i < size; i++) {
      const part = Math.abs(residual[i]) / (i < nodeUnknowns ? RESIDUAL_AMPS : RESIDUAL_VOLTS);
      if (!(part <= largest)) {
        largest = part;
        worst = i;
      }
    }
    let limited = -1;
    for (const moving of system.moving) if (moving.limited) limited = moving.index;
    const straying = held ? 0 : heavyAway(system);
    if (balanced && largest < 1 && k > 0 && limited < 0)
      return { converged: true, steps: k, worst: -1, singular: false };
    if (largest < 1 && lastStep < STEP_VOLTS && limited < 0 && straying <= 1) {
      // The Jacobian stands at the solution: leave its factors for the bands.
      const singular = !lu.factor(values);
      return { converged: !singular, steps: k, worst: singular ? lu.singularAt : -1, singular };
    }
    if (!lu.factor(values)) return { converged: false, steps: k, worst: lu.singularAt, singular: true };
    lu.solve(residual, step);
    lastStep = 0;
    for (let i = 0; i < nodeUnknowns; i++) {
      const size = Math.abs(step[i]);
      if (!(size <= lastStep)) {
        lastStep = size;
        if (largest < 1) worst = i;
      }
    }
    if (!(lastStep < Number.POSITIVE_INFINITY)) return { converged: false, steps: k, worst, singular: false };
    if (!system.linear && lastStep > FARTHEST_VOLTS) {
      for (let i = 0; i < nodeUnknowns; i++) {
        step[i] = Math.max(-FARTHEST_VOLTS, Math.min(FARTHEST_VOLTS, step[i]));
      }
    }
    for (let i = 0; i < size; i++) x[i] -= step[i];
    // A supply is renewed once the rest has settled around its straight line.
    if (straying > 1 && system.heavyEvaluations > mostHeavy(system)) {
      return { converged: false, steps: k, worst, singular: false };
    }
    renew = straying > 1 && (lastStep < 0.05 * straying * HELD_VOLTS || k % 6 === 5);
  }
  return { converged: false, steps: most, worst, singular: false };
}

const mostHeavy = (system: DcSystem): number =>
  MOST_HEAVY * system.moving.reduce((sum, { heavy }) => sum + (heavy ? 1 : 0), 0);

/** How far the heavy devices stand from where they were evaluated, in units of what is allowed. */
function heavyAway(system: DcSystem): number {
  let away = 0;
  for (const moving of system.moving) {
    if (!moving.heavy) continue;
    const terminals = moving.device.nodes.length;
    for (let c = 0; c < moving.x.length; c++) {
      const size = Math.abs(moving.x[c]);
      const held = c < terminals ? HELD_VOLTS + HELD_VOLTS_SHARE * size : HELD_AMPS + HELD_AMPS_SHARE * size;
      const part = Math.abs(moving.x[c] - moving.at[c]) / held;
      if (part > away) away = part;
    }
  }
  return away;
}
