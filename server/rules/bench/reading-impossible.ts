import type { Circuit, Measurement, NetIndex } from "../../circuit/model.ts";
import { impossibleShare, meterShare } from "../../facts/bench.ts";
import type { Analysis } from "../../physics/results.ts";
import { ends, finding, partsOf, quantity, relatedPart, solutions } from "../frame/index.ts";
import type { Rule } from "../rule.ts";
import { computed, targetName, targetOn } from "./computed.ts";

export const readingImpossible: Rule = {
  id: "bench/reading-impossible",
  severity: "warning",
  sentence:
    "A reading cannot be right: the circuit has no such voltage, or current would have to run uphill.",
  why: "A slip in writing it down, a meter on the wrong range or polarity: to search the amplifier for it is time lost.",
  source: "common practice",
  quiet:
    "Quiet up to 15 % above the highest voltage that any net reaches in any state, on signs where less than 5 V is " +
    "computed, and on pairs of readings that a meter's accuracy could turn round.",
  bad: `amp "Uphill"
source B1 300V { plus: HT1, minus: gnd }
HT1 -- resistor R1 10k 5% 2W 500V -- HT2
HT2 -- resistor R2 100k 5% 2W 500V -- gnd
measured HT2 2730V
`,
  good: `amp "Downhill"
source B1 300V { plus: HT1, minus: gnd }
HT1 -- resistor R1 10k 5% 2W 500V -- HT2
HT2 -- resistor R2 100k 5% 2W 500V -- gnd
measured HT2 273V
`,
  leads: [{ rule: "bench/reading", sharing: "first", manner: "attach" }],
  *check(context) {
    const { circuit, analysis } = context;
    if (!circuit.measurements.some((line) => line.unit === "volt")) return;
    const most = highest(analysis);
    for (const line of circuit.measurements) {
      yield;
      if (line.unit !== "volt") continue;
      const should = computed(analysis, line);
      if (!should) continue;
      const name = targetName(line);
      context.checked(targetOn(line));
      const scale =
        line.atMainsVolts === undefined ? 1 : Math.max(1, line.atMainsVolts / circuit.mains.volts.high);
      const bound = most * scale * impossibleShare.value;
      const wrongSign =
        !should.alternating &&
        Math.abs(should.nominal) > 5 &&
        line.value * should.nominal < 0 &&
        Math.abs(line.value) > 1;
      if (most > 0 && Math.abs(line.value) > Math.max(bound, 1)) {
        yield finding(readingImpossible, {
          message:
            `${name} cannot measure ${quantity(line.value, "V")}: nothing in this circuit comes above ${quantity(most, "V")} in ` +
            "any state. Look at the reading, the meter's range, and the windings as written.",
          on: [targetOn(line)],
          place: line.valuePlace,
          value: line.value,
          limit: bound,
          unit: "V",
        });
      } else if (wrongSign) {
        const sign = should.nominal > 0 ? "positive" : "negative";
        const where =
          line.target.kind === "across"
            ? `it is ${sign} from the first to the second end`
            : `it is ${sign} of circuit common`;
        yield finding(readingImpossible, {
          message:
            `${name} cannot measure ${quantity(line.value, "V")}: ${where} (computed ${quantity(should.nominal, "V")}). ` +
            "Look at the meter's leads and the sign.",
          on: [targetOn(line)],
          place: line.valuePlace,
          value: line.value,
          limit: 0,
          unit: "V",
        });
      }
    }
    yield* uphill(circuit, analysis);
  },
};

/** Highest peak of any net in any state, volts. */
function highest(analysis: Analysis): number {
  let most = 0;
  for (const solution of solutions(analysis)) {
    for (const series of [solution.peak, solution.trough, solution.volts]) {
      for (const volts of series) if (Math.abs(volts) > most) most = Math.abs(volts);
    }
  }
  return most;
}

/** Readings at both ends of a resistor or choke that have the current run the other way than it can. */
function* uphill(circuit: Circuit, analysis: Analysis) {
  const solution = analysis.solution("idle", "nominal");
  if (!solution?.solved) return;
  const byNet = new Map<NetIndex, Measurement>();
  for (const line of circuit.measurements) {
    const { target } = line;
    if (line.unit === "volt" && (target.kind === "net" || target.kind === "electrode"))
      byNet.set(target.net, line);
  }
  for (const part of partsOf(circuit, "resistor", "choke")) {
    const pair = ends(part);
    const [a, b] = pair ? [byNet.get(pair[0]), byNet.get(pair[1])] : [];
    if (!pair || !a || !b || a.atMainsVolts !== b.atMainsVolts) continue;
    const drop = solution.volts[pair[0]] - solution.volts[pair[1]];
    const measured = a.value - b.value;
    const doubt = 2 * meterShare.value * Math.max(Math.abs(a.value), Math.abs(b.value)) + 1;
    // A small drop may well turn round with the parts' spread; a drop of a twentieth may not.
    if (Math.abs(drop) < 0.05 * Math.abs(solution.volts[pair[0]]) || drop * measured >= 0) continue;
    if (Math.abs(measured) < doubt) continue;
    const [upper, lower] = drop > 0 ? [a, b] : [b, a];
    yield finding(readingImpossible, {
      message:
        `${targetName(lower)} measures ${quantity(lower.value, "V")} and ${targetName(upper)} ${quantity(upper.value, "V")}: ` +
        `the current through ${part.reference} would run the wrong way. Look at both readings.`,
      on: [targetOn(lower), targetOn(upper), part.reference],
      place: lower.place,
      value: lower.value,
      limit: upper.value,
      unit: "V",
      related: [
        relatedPart(part, "stands between the two"),
        { on: targetOn(upper), message: "the other reading", place: upper.place },
      ],
    });
  }
}
