/**
 * Supplies as ordinary differential equations, written out by hand for each circuit and integrated by a general library
 * (odex: Hairer and Wanner's extrapolation method) through many cycles. Nothing of the program's own network algebra or shooting
 * is used; only the law of a rectifying element, which is a device's data, is the same.
 */
import { createRequire } from "node:module";
import { semiconductorPractice } from "../../server/facts/valves/practice.ts";
import type { DiodeLaw } from "../../server/physics/device.ts";

/** The part of odex that is used; its own types do not pass a strict compiler. */
interface OdexSolver {
  absoluteTolerance: number;
  relativeTolerance: number;
  maxSteps: number;
  maxStepSize: number;
  initialStepSize: number;
  solve(f: (t: number, y: number[]) => number[], from: number, y: number[], to: number): { y: number[] };
}
const { Solver } = createRequire(import.meta.url)("odex") as { Solver: new (n: number) => OdexSolver };

const out = new Float64Array(2);

/** Current of `count` equal rectifiers in series with a resistance, for the volts across all. Zero in reverse. */
export function seriesCurrent(law: DiodeLaw, ohms: number, volts: number, count = 1): number {
  if (volts <= 0) return 0;
  // v(i) rises with i: bisect on the rectifier's own volts, then Newton.
  let low = 0;
  let high = volts / count;
  for (let k = 0; k < 200; k++) {
    const v = 0.5 * (low + high);
    law.evaluate(v, out);
    if (count * v + ohms * out[0] > volts) high = v;
    else low = v;
    if (high - low < 1e-13 * (1 + high)) break;
  }
  law.evaluate(0.5 * (low + high), out);
  return out[0];
}

/** Volts of a general silicon rectifier at a current: the printed law turned round, V = nVt ln(1 + I/Is) + I R. */
export function siliconVolts(amps: number): number {
  const { slopeVolts, kneeVolts, kneeAmps, forwardVolts, forwardAmps } = semiconductorPractice;
  const saturation = kneeAmps / Math.expm1(kneeVolts / slopeVolts);
  const ohms = (forwardVolts - slopeVolts * Math.log1p(forwardAmps / saturation)) / forwardAmps;
  return slopeVolts * Math.log1p(amps / saturation) + ohms * amps;
}

/** The same for a valve's plate and a silicon diode in series. */
export function hybridCurrent(valve: DiodeLaw, ohms: number, volts: number): number {
  if (volts <= 0) return 0;
  let low = 0;
  let high = volts;
  for (let k = 0; k < 60; k++) {
    const v = 0.5 * (low + high);
    valve.evaluate(v, out);
    if (v + siliconVolts(out[0]) + ohms * out[0] > volts) high = v;
    else low = v;
  }
  valve.evaluate(0.5 * (low + high), out);
  return out[0];
}

/** Volts of the cathodes of two plates without resistance that together carry a current. */
export function commonCathode(valve: DiodeLaw, plate1: number, plate2: number, amps: number): number {
  let high = Math.max(plate1, plate2) + 5;
  let low = high - 400;
  for (let k = 0; k < 80; k++) {
    const v = 0.5 * (low + high);
    valve.evaluate(plate1 - v, out);
    const first = out[0];
    valve.evaluate(plate2 - v, out);
    if (first + out[0] > amps) low = v;
    else high = v;
  }
  return 0.5 * (low + high);
}

export interface Ode {
  readonly hertz: number;
  /** Where to start. */
  readonly start: readonly number[];
  readonly rate: (t: number, x: readonly number[]) => number[];
  /** What is watched, at a time and state. */
  readonly watch: (t: number, x: readonly number[]) => Record<string, number>;
  readonly cycles: number;
  /** Where the right-hand side has a corner that error control alone would step over. */
  readonly shortSteps?: boolean;
}

export interface Watched {
  readonly mean: number;
  readonly rms: number;
  readonly high: number;
  readonly low: number;
}

/** Integrate from a start, and look at the state after every step of the given length. */
export function follow(
  start: readonly number[],
  rate: (t: number, x: readonly number[]) => number[],
  { to, step }: { readonly to: number; readonly step: number },
  look: (x: readonly number[]) => void,
): void {
  const solver = new Solver(start.length);
  solver.absoluteTolerance = 1e-7;
  solver.relativeTolerance = 1e-6;
  solver.maxSteps = 1e6;
  let x = [...start];
  for (let k = 0; k * step < to; k++) {
    solver.initialStepSize = step / 2;
    x = solver.solve((t: number, y: number[]) => rate(t, y), k * step, x, (k + 1) * step).y;
    look(x);
  }
}

/** Integrate to the last cycle, and measure that one. `drift` is what is left to settle, per cycle, relative. */
export function integrate(ode: Ode): { readonly watched: Record<string, Watched>; readonly drift: number } {
  const period = 1 / ode.hertz;
  const solver = new Solver(ode.start.length);
  solver.absoluteTolerance = 1e-7;
  solver.relativeTolerance = 1e-7;
  solver.maxSteps = 1e6;
  solver.maxStepSize = period / (ode.shortSteps ? 400 : 40);
  const advance = (from: number, x: readonly number[], to: number): number[] => {
    solver.initialStepSize = (to - from) / 4;
    return solver.solve((t: number, y: number[]) => ode.rate(t, y), from, [...x], to).y;
  };
  let x = [...ode.start];
  // From crest to crest, so that every start is alike.
  for (let k = 0; k < ode.cycles; k++) x = advance(k * period, x, (k + 1) * period);
  const begun = x;
  const samples = 800;
  const sums: Record<string, { sum: number; square: number; high: number; low: number }> = {};
  const t0 = ode.cycles * period;
  for (let n = 0; n < samples; n++) {
    const t = t0 + (n * period) / samples;
    for (const [name, value] of Object.entries(ode.watch(t, x))) {
      sums[name] ??= { sum: 0, square: 0, high: Number.NEGATIVE_INFINITY, low: Number.POSITIVE_INFINITY };
      const s = sums[name];
      s.sum += value;
      s.square += value * value;
      s.high = Math.max(s.high, value);
      s.low = Math.min(s.low, value);
    }
    x = advance(t, x, t0 + ((n + 1) * period) / samples);
  }
  let drift = 0;
  x.forEach((value, k) => {
    drift = Math.max(drift, Math.abs(value - begun[k]) / (1 + Math.abs(value)));
  });
  const watched: Record<string, Watched> = {};
  for (const [name, s] of Object.entries(sums)) {
    watched[name] = {
      mean: s.sum / samples,
      rms: Math.sqrt(s.square / samples),
      high: s.high,
      low: s.low,
    };
  }
  return { watched, drift };
}
