import { factPlace, limit, netName, partsOf, solutions } from "../frame/index.ts";
import type { Rule } from "../rule.ts";
import { onMains } from "../shared/mains-side.ts";
import { drivenPlates } from "./stress.ts";

/** Below this no insulation is asked about: 60 V dc is the ceiling of what is taken for harmless. */
const LOW_VOLTS = 60;

export const wireVoltage: Rule = {
  id: "rating/wire-voltage",
  severity: "error",
  sentence: "The wire's insulation is rated for less than the volts on it.",
  why: "Wires are bundled and laid against the chassis: whatever is not insulated for its own volts tracks and arcs there, and plate leads swing to twice the HT.",
  source: "the wire's insulation rating; 600 V for HT above 250 V is common practice",
  quiet:
    "Quiet below 60 V, on wires of the mains side (mains/wire-insulation holds those), and on plain paths that say nothing of a wire.",
  bad: `amp "Thin hook-up wire on the HT"
source B1 430V { plus: HT, minus: gnd }
HT -- wire W1 0.22mm2 300V -- HT2
HT2 -- resistor R1 220k 2W 500V -- gnd
`,
  good: `amp "600 V wire on the HT"
source B1 430V { plus: HT, minus: gnd }
HT -- wire W1 0.22mm2 600V -- HT2
HT2 -- resistor R1 220k 2W 500V -- gnd
`,
  *check(context) {
    const { circuit, analysis } = context;
    const plates = drivenPlates(analysis);
    for (const part of partsOf(circuit, "wire")) {
      yield;
      if (onMains(circuit, part)) continue;
      const [net] = part.terminals.values();
      if (net === undefined) continue;
      let worst = 0;
      let at: { state?: never } | object = {};
      for (const solution of solutions(analysis)) {
        const band = solution.netBand(net);
        const swing = Math.max(
          Math.abs(solution.peak[net]),
          Math.abs(solution.trough[net]),
          solution.level === "high" && solution.state === "idle" ? (plates.get(net) ?? 0) : 0,
        );
        const spread = band.high - band.nominal;
        const volts = swing + (Number.isNaN(spread) ? 0 : spread);
        if (volts > worst) {
          worst = volts;
          at = { state: solution.state, mains: solution.level };
        }
      }
      if (worst < LOW_VOLTS) continue;
      if (!part.volts) {
        context.unchecked(part.reference, "insulation of the wire (no voltage written)", part.place);
        continue;
      }
      const found = limit(context, wireVoltage, {
        on: [part.reference, netName(circuit, net)],
        place: factPlace(part, "volts"),
        says: `${part.unnamed ? `The wire on ${netName(circuit, net)}` : part.reference} has`,
        value: worst,
        limit: part.volts.value,
        limitIs: "insulated for",
        unit: "V",
        ...at,
        todo: "600 V wire is the usual floor for high tension.",
      });
      if (found) yield found;
    }
  },
};
