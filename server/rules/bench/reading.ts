import { meterFloor, meterShare, serviceShare, shareFloorVolts } from "../../facts/bench.ts";
import { finding, metered, partsOf, percent, quantity, relatedPart } from "../frame/index.ts";
import type { Rule } from "../rule.ts";
import { computed, targetName, targetOn } from "./computed.ts";
import { drifts } from "./drift.ts";
import { isDead, leakInto } from "./suspects.ts";

export const reading: Rule = {
  id: "bench/reading",
  severity: "warning",
  sentence: "A reading from the bench is not what the circuit as written would give.",
  why:
    "Either a part has drifted, leaks or is open, or the file does not say what is wired. The parts that would explain " +
    "the reading are where to look first.",
  source: "common practice: ±20 % for service; a meter of 1 %",
  quiet:
    "Quiet inside the computed band from part tolerances, widened by the meter's accuracy, at the mains that the reading " +
    "was taken at (over the whole range of the mains where none is given). Outside it advice, past 20 % a warning. What is " +
    "read across or through a part without a sign is held to the amount, whichever way the part is written.",
  bad: `amp "A drifted resistor"
source B1 300V { plus: HT1, minus: gnd }
HT1 -- resistor R1 100k 5% 1W 500V -- p1
p1 -- resistor R2 100k 5% 1W 500V -- gnd
measured p1 105V
`,
  good: `amp "As computed"
source B1 300V { plus: HT1, minus: gnd }
HT1 -- resistor R1 100k 5% 1W 500V -- p1
p1 -- resistor R2 100k 5% 1W 500V -- gnd
measured p1 146V
`,
  *check(context) {
    const { circuit, analysis } = context;
    const service =
      circuit.assumptions.derate.get("bench")?.value ?? context.options.margins?.bench ?? serviceShare.value;
    for (const line of circuit.measurements) {
      yield;
      const { kind } = line.target;
      if (kind === "earth-continuity" || kind === "insulation" || kind === "earth-leakage") continue;
      const name = targetName(line);
      const should = computed(analysis, line);
      if (!should) {
        context.unchecked(
          targetOn(line),
          `the reading ${name} (nothing computed to hold it against)`,
          line.place,
        );
        continue;
      }
      const unit = line.unit === "ampere" ? "A" : "V";
      const floor = unit === "A" ? meterFloor.amps.value : meterFloor.volts.value;
      const meter = Math.max(Math.abs(line.value) * meterShare.value, floor);
      const difference = line.value - should.nominal;
      const share =
        Math.abs(difference) /
        Math.max(Math.abs(should.nominal), unit === "V" ? shareFloorVolts.value : floor);
      context.checked(targetOn(line), {
        on: targetOn(line),
        rule: reading.id,
        value: line.value,
        limit: should.nominal,
        unit,
        breach: difference < 0 ? "below" : "above",
        state: "idle",
        source: reading.source,
      });
      if (line.value >= should.low - meter && line.value <= should.high + meter) continue;
      const explained = drifts(circuit, should.solution, line, should.turned ? -difference : difference);
      // A share of next to nothing says nothing.
      const by =
        Math.abs(should.nominal) < shareFloorVolts.value && unit === "V"
          ? quantity(Math.abs(difference), "V")
          : percent(share);
      const at = should.atMains
        ? ` at ${quantity(line.atMainsVolts ?? 0, "V")} mains`
        : partsOf(circuit, "transformer").length > 0
          ? " over the whole range of the mains"
          : "";
      const leak = leakInto(circuit, should.solution, line, difference);
      const because = leak
        ? ` ${leak.text}`
        : isDead(circuit, should.solution, line)
          ? " The valve draws next to nothing: its heater, its cathode's lead, or the valve itself."
          : explained.length > 0
            ? ` ${explained.map((drift) => drift.text).join(", or ")} would explain it.`
            : " No single part's drift explains it: look for an open or leaking part, or a slip in the file.";
      yield finding(reading, {
        severity: share > service ? "warning" : "advice",
        message:
          `${name} measures ${quantity(line.value, unit)}${should.alternating ? " alternating" : ""}; computed ` +
          `${metered(should.nominal, unit)} at idle, ${metered(should.low, unit)} to ${metered(should.high, unit)} with part ` +
          `tolerances${at}: ${difference > 0 ? "high" : "low"} by ${by}.${because}`,
        on: [targetOn(line), ...(leak ? [leak.reference] : explained.map((drift) => drift.reference))],
        place: line.place,
        state: "idle",
        value: line.value,
        limit: difference > 0 ? should.high : should.low,
        unit,
        related: (leak ? [leak] : explained).map((drift) =>
          relatedPart(circuit.partByReference.get(drift.reference.split(".")[0]), drift.text),
        ),
        source: share > service ? serviceShare.source : meterShare.source,
      });
    }
  },
};
