import type { Resistor } from "../../circuit/model.ts";
import { standardWatts } from "../../facts/passives.ts";
import { smallestPart } from "../../facts/practice.ts";
import { lowestBodyVolts } from "../../facts/resistors.ts";
import type { Solution } from "../../physics/results.ts";
import {
  ends,
  factPlace,
  limit,
  partsOf,
  quantity,
  type Row,
  readingsAt,
  relatedNet,
  rowOf,
  type Worst,
} from "../frame/index.ts";
import type { Fix, Rule } from "../rule.ts";
import { writeOhms, writeWatts } from "../shared/values.ts";
import { worstOfNear } from "../shared/worst-near.ts";

export const resistorVoltage: Rule = {
  id: "rating/resistor-voltage",
  severity: "error",
  sentence: "The resistor's body sees more volts than it is made for, whatever its watts say.",
  why:
    "A high resistance dissipates little and still flashes over or drifts, because its body is short: the limit most often " +
    "missed on bleeders, grid leaks at HT and plate loads.",
  source:
    "limiting element voltage of makers' sheets and MIL-R-11: the lowest published for its watts and kind",
  quiet:
    "Quiet below 100 V, which every body holds. Where the file gives no working voltage, the lowest published one for the " +
    "watts and kind is taken, and the message says so.",
  bad: `amp "A half-watt bleeder on 440 V"
source B1 440V { plus: HT, minus: gnd }
HT -- resistor R1 1M 0.5W metal-film -- gnd
`,
  good: `amp "Two in series"
source B1 440V { plus: HT, minus: gnd }
HT -- resistor R1 470k 0.5W metal-film -- half -- resistor R2 470k 0.5W metal-film -- gnd
`,
  *check(context) {
    for (const part of partsOf(context.circuit, "resistor")) {
      yield;
      const row = rowOf(context.analysis, part.reference);
      const most = worstOfNear(
        context.analysis,
        {},
        part.volts?.value ?? smallestPart.resistorVolts,
        (solution) => size(solution, part, row),
        (solution) => {
          const band = solution.band(part.reference, "volts");
          if (!band) return undefined;
          const read = size(solution, part, row) ?? Number.NaN;
          const spread = Math.max(band.high - band.nominal, band.nominal - band.low);
          return { nominal: read, low: read, high: read + (Number.isNaN(spread) ? 0 : spread) };
        },
        part.reference,
      );
      if (!most || most.value <= smallestPart.resistorVolts) continue;
      if (!part.volts) {
        context.unchecked(
          part.reference,
          part.watts
            ? `working voltage of the body (none is published for a ${part.material ?? "resistor"} of ${quantity(part.watts.value, "W")})`
            : "working voltage of the body (neither volts nor watts written)",
          part.referencePlace,
        );
        continue;
      }
      const found = limit(context, resistorVoltage, {
        on: part.reference,
        place: factPlace(part, "volts", "watts"),
        value: most.value,
        limit: part.volts.value,
        unit: "V",
        state: most.state,
        mains: most.mains,
        source: part.volts.origin === "file" ? "the working voltage written in the file" : part.volts.source,
        words: () => ({
          says: `${part.reference} has`,
          limitIs:
            part.volts?.origin === "file"
              ? "working voltage"
              : `lowest published working voltage for ${part.watts ? quantity(part.watts.value, "W") : "its size"}`,
          estimate: most.estimate,
          related: [...part.terminals.values()].map((net) =>
            net === context.circuit.ground
              ? undefined
              : relatedNet(context.circuit, net, "the net that it hangs on"),
          ),
          ...remedy(part, most),
        }),
      });
      if (found) yield found;
    }
  },
};

/** Volts that the body feels: dc, or the rms of what alternates, whichever is more. */
function size(solution: Solution, part: Resistor, row: Row): number | undefined {
  const reading = readingsAt(row, solution);
  let dc = reading?.volts;
  if (dc === undefined) {
    const nets = ends(part);
    if (nets) dc = solution.volts[nets[0]] - solution.volts[nets[1]];
  }
  const rms = reading?.rmsVolts;
  if (dc === undefined || Number.isNaN(dc))
    return rms === undefined || Number.isNaN(rms) ? undefined : Math.abs(rms);
  return rms === undefined || Number.isNaN(rms) ? Math.abs(dc) : Math.max(Math.abs(dc), Math.abs(rms));
}

function remedy(part: Resistor, most: Worst): { todo: string; fix?: Fix } {
  const two = `two of ${writeOhms(part.ohms.value / 2)} in series share it`;
  const place = part.factPlaces.get("watts");
  const larger = standardWatts.filter((watts) => watts > (part.watts?.value ?? 0));
  if (part.volts?.origin === "file" || !place || larger.length === 0)
    return { todo: `A part made for at least ${quantity(most.value, "V")}, or ${two}.` };
  // The smallest body that is published for it.
  const watts = larger.find((size) => (lowestBodyVolts(size, part.material)?.volts ?? 0) >= most.value);
  return {
    todo: `A larger body, a part whose written working voltage is at least ${quantity(most.value, "V")}, or ${two}.`,
    fix:
      watts === undefined
        ? undefined
        : {
            title: `Make ${part.reference} ${quantity(watts, "W")}`,
            edits: [{ place, text: writeWatts(watts) }],
          },
  };
}
