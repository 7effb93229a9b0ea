import type { CordOrInlet } from "../../circuit/model.ts";
import { thinnestCord } from "../../facts/mains.ts";
import { factPlace, limit } from "../frame/index.ts";
import type { Finding, Rule, RuleContext } from "../rule.ts";
import { MAINS_CAUTION } from "./caution.ts";
import { example } from "./example.ts";
import { mainsSide } from "./graph.ts";
import { entryAmps, mostAmps, thinnest } from "./running.ts";

export const cordRating: Rule = {
  id: "mains/cord-rating",
  severity: "error",
  sentence:
    "The cord or inlet is rated for less than the amplifier draws, or the cord is thinner than any for the mains.",
  why: "A cord that is too thin runs hot inside its sheath, and longest where it is coiled or covered.",
  source:
    "AS/NZS 3191, British guidance on flexes, NEC article 400, IEC 62368-1 annex G.7: current by cross-section",
  quiet:
    "Held against the running current; without a cross-section or a current in the file it is told as unchecked. A current that is " +
    "written counts no further than its cross-section carries it.",
  caution: MAINS_CAUTION,
  bad: example({
    name: "Inlet of half an ampere",
    cord: `inlet J9 100mA {
  active:  inA brown
  neutral: inN blue
  earth:   inE green-yellow
}`,
    way: `inA -- fuse F1 T315mA 250V -- fused
fused -- switch S1 mains 250V 6A -- live`,
  }),
  good: example({ name: "Cord that carries it" }),
  leads: [{ rule: "mains/fuse-value", sharing: "part", manner: "attach" }],
  *check(context) {
    const side = mainsSide(context.circuit);
    if (!side) return;
    const running = mostAmps(context.analysis, side.primaries, context.circuit.mains.volts.nominal);
    for (const entry of side.entries) {
      yield;
      const thin = tooThin(context, entry);
      if (thin) {
        yield thin;
        continue;
      }
      const carries = entryAmps(entry, context.circuit.mains.region);
      if (!carries || !running || side.primaries.length === 0) {
        context.unchecked(entry.reference, "the current that it carries", entry.place);
        continue;
      }
      const found = limit(context, cordRating, {
        on: entry.reference,
        place: factPlace(entry, "amps", "squareMetres"),
        says: `${entry.reference} carries`,
        value: running.amps,
        limit: carries.amps,
        unit: "A",
        state: running.state,
        mains: running.mains,
        note: running.note,
        todo: entry.kind === "cord" ? "Fit a cord of larger cross-section." : "Fit an inlet for the current.",
        source: carries.source,
      });
      if (found) yield found;
    }
  },
};

/** Whatever it carries: a cord thinner than the thinnest that is made for the mains breaks, and burns before its fuse blows. */
function tooThin(context: RuleContext, entry: CordOrInlet): Finding | undefined {
  const area = thinnest(entry);
  if (entry.kind !== "cord" || area === undefined) return undefined;
  return limit(context, cordRating, {
    on: entry.reference,
    place: factPlace(entry, "squareMetres", "amps"),
    says: `${entry.reference}'s conductors have`,
    value: area,
    limitIs: "the thinnest cord for the mains has",
    limit: thinnestCord.squareMetres,
    unit: "m2",
    breach: "below",
    todo: "Fit a cord of larger cross-section.",
    source: thinnestCord.source,
  });
}
