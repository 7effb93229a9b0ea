import { called, factPlace, finding } from "../frame/index.ts";
import type { Rule } from "../rule.ts";
import { MAINS_CAUTION } from "./caution.ts";
import { example } from "./example.ts";
import { mainsSide } from "./graph.ts";
import { mainsWires } from "./wires.ts";

export const clothWire: Rule = {
  id: "mains/cloth-wire",
  severity: "warning",
  sentence: "Cloth-covered wire carries the mains.",
  why:
    "For most of it no voltage was ever published; cotton takes up moisture, and where the iron has scorched it, it " +
    "conducts.",
  source: "common practice",
  quiet: "Quiet on cloth-covered wire of the secondary side, where rating/wire-voltage looks at it.",
  caution: MAINS_CAUTION,
  bad: example({
    name: "Cloth on the mains",
    way: `inA -- fuse F1 T315mA 250V -- fused
fused -- switch S1 mains 250V 6A -- sw -- wire W2 600V cloth -- live`,
  }),
  good: example({
    name: "Plastic on the mains",
    way: `inA -- fuse F1 T315mA 250V -- fused
fused -- switch S1 mains 250V 6A -- sw -- wire W2 600V -- live`,
  }),
  *check(context) {
    const side = mainsSide(context.circuit);
    if (!side) return;
    for (const wire of mainsWires(side)) {
      yield;
      context.checked(wire.reference);
      if (!wire.cloth) continue;
      yield finding(clothWire, {
        message: `${called(context.circuit, wire)} is cloth-covered and carries the mains: replace it by plastic-insulated wire for 600 V.`,
        on: wire.reference,
        place: factPlace(wire, "cloth"),
      });
    }
  },
};
