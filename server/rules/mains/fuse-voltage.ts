import { factPlace, limit } from "../frame/index.ts";
import type { Rule } from "../rule.ts";
import { MAINS_CAUTION } from "./caution.ts";
import { example } from "./example.ts";
import { mainsSide } from "./graph.ts";

export const fuseVoltage: Rule = {
  id: "mains/fuse-voltage",
  severity: "error",
  sentence: "The mains fuse is rated for less than the mains voltage.",
  why: "A fuse that blows above its voltage goes on arcing, and the current that it should have stopped flows on.",
  source: "IEC 60127-10, from memory: the rated voltage is at least that of its place",
  quiet:
    "Held against the nominal mains, since a fuse's standard allows for the tolerance; no voltage given: unchecked.",
  caution: MAINS_CAUTION,
  bad: example({
    name: "Fuse of 125 V",
    way: `inA -- fuse F1 T315mA 125V -- fused
fused -- switch S1 mains 250V 6A -- live`,
  }),
  good: example({ name: "Fuse of 250 V" }),
  *check(context) {
    const side = mainsSide(context.circuit);
    for (const fuse of side?.fuses ?? []) {
      yield;
      if (!fuse.volts) {
        context.unchecked(fuse.reference, "its voltage rating", fuse.place);
        continue;
      }
      const found = limit(context, fuseVoltage, {
        on: fuse.reference,
        place: factPlace(fuse, "volts"),
        says: `${fuse.reference} stands on`,
        value: context.circuit.mains.volts.nominal,
        limit: fuse.volts.value,
        unit: "V",
        mains: "nominal",
        todo: "Fit one rated 250 V.",
      });
      if (found) yield found;
    }
  },
};
