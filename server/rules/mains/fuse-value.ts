import type { Fuse } from "../../circuit/model.ts";
import { fuseFigures, fuseSeries, fuseSeriesAmerican } from "../../facts/mains.ts";
import {
  factPlace,
  figure,
  finding,
  limit,
  listed,
  nextUp,
  partsOf,
  quantity,
  relatedPart,
} from "../frame/index.ts";
import type { Finding, Rule, RuleContext } from "../rule.ts";
import { fedOf } from "../shared/nodes.ts";
import { MAINS_CAUTION } from "./caution.ts";
import { example } from "./example.ts";
import { drivenFuse } from "./fuse-driven.ts";
import { secondaryFuse } from "./fuse-secondary.ts";
import { rewritten, written } from "./fuse-words.ts";
import { type MainsSide, mainsSide, type Primary } from "./graph.ts";
import { drivenAmps, entryAmps, type Running, ratedAmps, runningAmps } from "./running.ts";
import { servedBy } from "./served.ts";

export const fuseValue: Rule = {
  id: "mains/fuse-value",
  severity: "error",
  sentence: "The fuse does not suit the current that it carries and the transformer that it protects.",
  why:
    "Too small, it blows in use and is soon replaced by something larger. Too large, the transformer burns before it " +
    "blows. Too fast, it blows at switch-on, with the same end. A fuse of the high tension is there for the winding and the rectifier: " +
    "past what they stand it protects nothing.",
  source:
    "common practice: time-lag, 1.25 to 2.5 times the primary current, next standard value up; IEC 60127-2",
  quiet:
    "Quiet up to the standard value next above 2.5 times the larger of rated and running primary current; at full drive up to the " +
    "fuse's own rating, and a warning only up to what it holds for an hour. A fuse behind the transformer is quiet " +
    "up to five times the current that its winding is wound for. Quiet on a mains fuse whose letter is not given (told as unchecked).",
  caution: MAINS_CAUTION,
  bad: example({
    name: "Fuse far too large",
    way: `inA -- fuse F1 T5A 250V -- fused
fused -- switch S1 mains 250V 6A -- live`,
  }),
  good: example({ name: "Fuse that suits" }),
  *check(context) {
    const side = mainsSide(context.circuit);
    for (const fuse of partsOf(context.circuit, "fuse")) {
      yield;
      if (!side?.fuses.includes(fuse)) yield* secondaryFuse(context, fuseValue, fuse);
    }
    if (!side) return;
    for (const fuse of side.fuses) {
      yield;
      const primaries = servedBy(side, fuse);
      if (primaries.length === 0) continue;
      yield* sizeOf(context, side, fuse, primaries);
      yield* characterOf(context, fuse, primaries);
    }
  },
};

function* sizeOf(
  context: RuleContext,
  side: MainsSide,
  fuse: Fuse,
  primaries: readonly Primary[],
): Generator<Finding> {
  const { circuit } = context;
  const names = listed(primaries.map((primary) => primary.transformer.reference));
  const place = factPlace(fuse, "amps");
  const running = runningAmps(context.analysis, primaries);
  const american = circuit.mains.region === "US" || circuit.mains.region === "CA";
  const least = american ? fuseFigures.leastAmerican : fuseFigures.least;
  const rated = sum(
    primaries.map((primary) =>
      ratedAmps(primary.transformer, circuit.mains.volts.nominal, fedOf(circuit, primary.transformer)),
    ),
  );
  const series = american && !fuse.character ? fuseSeriesAmerican : fuseSeries;
  const need = Math.max(running?.amps ?? 0, rated ?? 0) * least.value;
  const fits = need > 0 ? nextUp(need, series) : undefined;
  const todo = fits === undefined ? undefined : `${names} asks for ${written(fuse, fits)}, time-lag.`;
  const fix = fits === undefined ? undefined : rewritten(fuse, fits);
  const related = primaries.map((primary) => relatedPart(primary.transformer, "the transformer behind it"));

  if (!running) context.unchecked(fuse.reference, "its value against the running current", fuse.place);
  else {
    const hold = (drawn: Running, margin?: number) =>
      limit(context, fuseValue, {
        on: [fuse.reference, ...primaries.map((primary) => primary.transformer.reference)],
        place,
        says: `${fuse.reference} carries`,
        value: drawn.amps,
        limit: fuse.amps.value,
        unit: "A",
        margin,
        marginSource: least.source,
        state: drawn.state,
        mains: drawn.mains,
        todo,
        related,
        fix,
      });
    // The rating is held at the worst; the room that practice leaves above it is for the mains as it usually is.
    const usual = runningAmps(context.analysis, primaries, ["nominal"]);
    const found = hold(running) ?? (usual && hold(usual, 1 / least.value));
    if (found) {
      yield found;
      return;
    }
    const driven = drivenAmps(context.analysis, primaries, circuit.mains.volts.nominal);
    if (driven !== undefined) {
      const asked = nextUp(Math.max(need, driven), series);
      const found = drivenFuse(context, fuseValue, fuse, {
        on: [fuse.reference, ...primaries.map((primary) => primary.transformer.reference)],
        amps: driven,
        idleAmps: usual?.amps ?? running.amps,
        todo: asked === undefined ? undefined : `${names} asks for ${written(fuse, asked)}, time-lag.`,
        related,
        fix: asked === undefined ? undefined : rewritten(fuse, asked),
      });
      if (found) {
        yield found;
        return;
      }
    }
  }

  const basis = Math.max(running?.amps ?? 0, rated ?? 0);
  if (basis <= 0)
    context.unchecked(fuse.reference, `its value against ${names}'s rating (no VA given)`, fuse.place);
  else {
    context.checked(fuse.reference);
    const step = (ratio: number) => nextUp(ratio * basis, series) ?? ratio * basis;
    // Where only the running current is known, the transformer may well be rated for more: the wider bound alone counts.
    const most = step(rated === undefined ? fuseFigures.bound.value : fuseFigures.most.value);
    const bound = step(fuseFigures.bound.value);
    if (fuse.amps.value > most * (1 + 1e-9)) {
      const ratio = fuse.amps.value / basis;
      const what = (rated ?? 0) >= (running?.amps ?? 0) ? "rated" : "running";
      const over = rated !== undefined && fuse.amps.value > bound * (1 + 1e-9);
      yield finding(fuseValue, {
        severity: over ? "error" : "warning",
        message:
          `${fuse.reference} is ${quantity(fuse.amps.value, "A")}, ${figure(ratio, 2)} times the ${what} primary current of ` +
          `${names} (${quantity(basis, "A")}); at most ${quantity(most, "A")} protects it. ${todo ?? ""}`.trimEnd(),
        on: [fuse.reference, ...primaries.map((primary) => primary.transformer.reference)],
        place,
        value: fuse.amps.value,
        limit: most,
        unit: "A",
        source: over ? fuseFigures.bound.source : fuseFigures.most.source,
        related,
        fix,
      });
      return;
    }
  }

  for (const entry of side.entries) {
    const carries = entryAmps(entry, circuit.mains.region);
    if (!carries) continue;
    const found = limit(context, fuseValue, {
      on: [fuse.reference, entry.reference],
      place,
      says: `${fuse.reference} lets pass`,
      value: fuse.amps.value,
      limit: carries.amps,
      limitIs: `${entry.reference} carries`,
      unit: "A",
      todo: "Fit a smaller fuse or a thicker cord.",
      related: [relatedPart(entry, "what the fuse has to protect")],
      source: carries.source,
    });
    if (found) yield found;
  }
}

function* characterOf(context: RuleContext, fuse: Fuse, primaries: readonly Primary[]): Generator<Finding> {
  if (fuse.character === undefined) {
    context.unchecked(fuse.reference, "its character (no letter given)", fuse.place);
    return;
  }
  context.checked(fuse.reference);
  if (fuse.character !== "F" && fuse.character !== "FF") return;
  const names = listed(primaries.map((primary) => primary.label));
  const place = factPlace(fuse, "amps");
  yield finding(fuseValue, {
    severity: "warning",
    message:
      `${fuse.reference} is fast (${fuse.character}): ${names} draws up to ${fuseFigures.inrush.value} times its full-load ` +
      `current at switch-on and blows it. Fit ${written({ ...fuse, character: "T" }, fuse.amps.value)}.`,
    on: [fuse.reference, ...primaries.map((primary) => primary.transformer.reference)],
    place,
    related: primaries.map((primary) => relatedPart(primary.transformer, "its inrush passes the fuse")),
    source: fuseFigures.inrush.source,
    fix: rewritten({ ...fuse, character: "T" }, fuse.amps.value),
  });
}

function sum(values: readonly (number | undefined)[]): number | undefined {
  return values.some((value) => value === undefined)
    ? undefined
    : values.reduce<number>((total, value) => total + (value ?? 0), 0);
}
