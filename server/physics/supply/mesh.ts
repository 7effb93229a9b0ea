/** Where the steps of a cycle lie. */
import type { Event } from "./events.ts";
import type { Piece } from "./steps.ts";
import { work } from "./work.ts";

/** First step of a pulse, as a part of the cycle; each of the next is twice as long, up to the last. */
const firstStep = 1 / 1200;
const lastGrown = 1 / 150;
/** Where its current is up at once the steps begin shorter, and stay short for so long: it is past its crest before they grow. */
const abruptFirst = firstStep / 4;
const abruptFoot = 1 / 100;

/**
 * Steps with their joints where rectifiers start and stop; equal ones where no event is known.
 * @param period of the mains, seconds
 * @param atRest of each port without an event: whether it conducts all the time
 * @param refine makes every step so many times shorter
 */
export function meshFor(
  events: readonly Event[],
  period: number,
  atRest: readonly boolean[],
  refine: number,
): Piece[] {
  work.meshes++;
  const joints: number[] = [0];
  for (const t of events.map((e) => e.time).sort((a, b) => a - b)) {
    if (t - joints[joints.length - 1] > period / 4000 && t < period * (1 - 1 / 4000)) joints.push(t);
  }
  joints.push(period);
  const pieces: { start: number; length: number; count: number }[] = [];
  if (events.length === 0) {
    pieces.push({ start: 0, length: period, count: 48 });
  } else {
    for (let k = 0; k + 1 < joints.length; k++) {
      const start = joints[k];
      const length = joints[k + 1] - start;
      if (!conducts(start + length / 2, events, atRest)) {
        // A short step first, for a current that ends a little later than was told.
        const tail = k === 0 ? 0 : Math.min(length / 4, period / 500);
        if (tail > 0) pieces.push({ start, length: tail, count: 1 });
        pieces.push({
          start: start + tail,
          length: length - tail,
          count: Math.max(1, Math.ceil((length - tail) / (period / 18))),
        });
        continue;
      }
      // Steps growing from the corner where a pulse begins, and a short one again where it ends.
      let at = start;
      const abrupt = events.some((e) => e.on && e.abrupt > 1 && Math.abs(e.time - start) <= period / 4000);
      const until = abrupt ? start + Math.min(length / 4, period * abruptFoot) : start;
      let part = abrupt ? abruptFirst : firstStep;
      while (part < 1.01 * lastGrown) {
        const piece = Math.min(length * part * 8, period * part);
        pieces.push({ start: at, length: piece, count: 1 });
        at += piece;
        if (part < firstStep || at >= until) part *= 2;
      }
      const last = Math.min(length / 10, period / 150);
      const middle = start + length - last - at;
      pieces.push({ start: at, length: middle, count: Math.max(8, Math.ceil(middle / (period / 64))) });
      pieces.push({ start: start + length - last, length: last, count: 1 });
    }
  }
  return pieces.map(({ start, length, count }) => ({
    start,
    step: length / (count * refine),
    count: count * refine,
  }));
}

/** Whether any port conducts at a time, by its last event before that, round the clock. */
function conducts(time: number, events: readonly Event[], atRest: readonly boolean[]): boolean {
  for (let p = 0; p < atRest.length; p++) {
    let latest: Event | undefined;
    let last: Event | undefined;
    for (const e of events) {
      if (e.port !== p) continue;
      if (!last || e.time > last.time) last = e;
      if (e.time <= time && (!latest || e.time > latest.time)) latest = e;
    }
    const state = latest ?? last;
    if (state ? state.on : atRest[p]) return true;
  }
  return false;
}
