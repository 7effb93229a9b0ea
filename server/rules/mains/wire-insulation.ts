import { called, factPlace, limit } from "../frame/index.ts";
import type { Rule } from "../rule.ts";
import { MAINS_CAUTION } from "./caution.ts";
import { example } from "./example.ts";
import { mainsSide } from "./graph.ts";
import { mainsWires } from "./wires.ts";

export const wireInsulation: Rule = {
  id: "mains/wire-insulation",
  severity: "error",
  sentence: "A wire on the mains is insulated for less than the mains voltage.",
  why: "Signal wire that carries the mains lies against the chassis for decades, on an insulation that was never made for it.",
  source: "UL 1015 (600 V) and UL 1007 (300 V) are the usual kinds; common practice",
  quiet: "Quiet on cloth-covered wire (mains/cloth-wire tells that); no voltage given is told as unchecked.",
  caution: MAINS_CAUTION,
  bad: example({
    name: "Signal wire on the mains",
    way: `inA -- fuse F1 T315mA 250V -- fused
fused -- switch S1 mains 250V 6A -- sw -- wire W2 60V -- live`,
  }),
  good: example({
    name: "Mains wire",
    way: `inA -- fuse F1 T315mA 250V -- fused
fused -- switch S1 mains 250V 6A -- sw -- wire W2 600V -- live`,
  }),
  *check(context) {
    const side = mainsSide(context.circuit);
    if (!side) return;
    for (const wire of mainsWires(side)) {
      yield;
      if (!wire.volts) {
        if (!wire.cloth) context.unchecked(wire.reference, "its insulation voltage", wire.place);
        continue;
      }
      const found = limit(context, wireInsulation, {
        on: wire.reference,
        place: factPlace(wire, "volts"),
        says: `${called(context.circuit, wire)} carries`,
        value: context.circuit.mains.volts.nominal,
        limit: wire.volts.value,
        limitIs: "insulated for",
        unit: "V",
        mains: "nominal",
        todo: "Use wire for 300 V, or better 600 V.",
      });
      if (found) yield found;
    }
  },
};
