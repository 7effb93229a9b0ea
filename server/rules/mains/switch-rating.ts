import { factPlace, limit } from "../frame/index.ts";
import type { Rule } from "../rule.ts";
import { MAINS_CAUTION } from "./caution.ts";
import { example } from "./example.ts";
import { mainsSide } from "./graph.ts";
import { mostAmps } from "./running.ts";
import { servedBy } from "./served.ts";

export const switchRating: Rule = {
  id: "mains/switch-rating",
  severity: "error",
  sentence: "A switch on the mains is rated for less than it carries.",
  why: "Contacts that break more than they are made for burn, weld, and then no longer switch off.",
  source: "IEC 61058-1, from memory: rated voltage and current are not below those of the load",
  quiet:
    "Held against the nominal mains and the running current, that of full drive too; what the file does not rate is told as unchecked.",
  caution: MAINS_CAUTION,
  bad: example({
    name: "Switch of 125 V",
    way: `inA -- fuse F1 T315mA 250V -- fused
fused -- switch S1 mains 125V 6A -- live`,
  }),
  good: example({ name: "Switch of 250 V" }),
  *check(context) {
    const side = mainsSide(context.circuit);
    if (!side) return;
    for (const part of side.switches) {
      yield;
      if (!part.volts) context.unchecked(part.reference, "its alternating voltage rating", part.place);
      else {
        const found = limit(context, switchRating, {
          on: part.reference,
          place: factPlace(part, "volts"),
          says: `${part.reference} breaks`,
          value: context.circuit.mains.volts.nominal,
          limit: part.volts.value,
          unit: "V",
          mains: "nominal",
          todo: "Fit one rated 250 V alternating.",
        });
        if (found) yield found;
      }
      const served = servedBy(side, part);
      if (served.length === 0) continue;
      const running = mostAmps(context.analysis, served, context.circuit.mains.volts.nominal);
      if (!part.amps || !running) context.unchecked(part.reference, "its current rating", part.place);
      else {
        const found = limit(context, switchRating, {
          on: part.reference,
          place: factPlace(part, "amps"),
          says: `${part.reference} carries`,
          value: running.amps,
          limit: part.amps.value,
          unit: "A",
          state: running.state,
          mains: running.mains,
          note: running.note,
          todo: "Fit a switch for the current, and for the inrush that comes on top of it.",
        });
        if (found) yield found;
      }
    }
  },
};
