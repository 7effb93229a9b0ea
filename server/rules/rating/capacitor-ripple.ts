import { rippleByHertz, rippleNegligibleAmps } from "../../facts/passives.ts";
import type { Analysis } from "../../physics/results.ts";
import { factPlace, limit, partsOf, relatedNet } from "../frame/index.ts";
import type { Rule } from "../rule.ts";
import { onMains } from "../shared/mains-side.ts";
import { worstNear } from "../shared/worst-near.ts";
import { between } from "../supply/rectifiers.ts";

export const capacitorRipple: Rule = {
  id: "rating/capacitor-ripple",
  severity: "error",
  sentence: "The reservoir carries more ripple current than it is rated for.",
  why: "Ripple current heats the electrolytic from inside and dries it out: every ten degrees halve its life.",
  source: `the part's rated ripple current; ${rippleByHertz.source}`,
  quiet:
    "Quiet on capacitors that carry less than 20 mA of ripple, as every one behind the first filter does; without a written " +
    "ripple rating a reservoir is unchecked.",
  bad: `amp "A reservoir too small for its ripple"
transformer T1 200VA {
  primary 230V 4R    { a b }
  ht      230V 1A 8R { x y }
}
bridge BR1 1000V 3A { ac1: x, ac2: y, plus: HT, minus: gnd }
HT -- capacitor C1 100u 450V electrolytic ripple 200mA -- gnd
HT -- resistor R1 1k2 200W wirewound -- gnd
`,
  good: `amp "A reservoir rated for it"
transformer T1 200VA {
  primary 230V 4R    { a b }
  ht      230V 1A 8R { x y }
}
bridge BR1 1000V 3A { ac1: x, ac2: y, plus: HT, minus: gnd }
HT -- capacitor C1 100u 450V electrolytic ripple 2A -- gnd
HT -- resistor R1 1k2 200W wirewound -- gnd
`,
  *check(context) {
    const { circuit, analysis } = context;
    for (const part of partsOf(circuit, "capacitor")) {
      if (!part.polarised || onMains(circuit, part)) continue;
      const hertz = hertzOf(circuit.mains.hertz, analysis, part.reference);
      const factor = between(rippleByHertz.factors, hertz, "flat");
      const bound = part.rippleAmps && part.rippleAmps.value * factor;
      const most = worstNear(analysis, part.reference, "rms", bound ?? Number.POSITIVE_INFINITY, {
        states: ["idle", "drive", "standby"],
      });
      if (!most || most.value < rippleNegligibleAmps) continue;
      if (bound === undefined) {
        context.unchecked(part.reference, "ripple current (no rating written)", part.referencePlace);
        continue;
      }
      const found = limit(context, capacitorRipple, {
        on: part.reference,
        place: factPlace(part, "rippleAmps"),
        says: `${part.reference} carries ripple current of`,
        value: most.value,
        limit: bound,
        limitIs: factor === 1 ? undefined : `rated, at ${Math.round(hertz)} Hz,`,
        unit: "A",
        state: most.state,
        mains: most.mains,
        estimate: most.estimate,
        todo: "A part with a higher ripple rating, two in parallel, or more resistance ahead of it.",
        related: [...part.terminals.values()]
          .filter((net) => net !== circuit.ground)
          .map((net) => relatedNet(circuit, net, "the net that it holds up")),
      });
      if (found) yield found;
    }
  },
};

/** Full-wave ripple is at twice the mains; a half-wave one, told by a single conducting element, at the mains itself. */
function hertzOf(mains: number, analysis: Analysis, reference: string): number {
  const idle = analysis.solution("idle", "nominal");
  const part = analysis.circuit.partByReference.get(reference);
  const nets = part ? [...part.terminals.values()] : [];
  let arms = 0;
  for (const rectifier of analysis.circuit.parts) {
    const touches = (net: number | undefined) => net !== undefined && nets.includes(net);
    if (rectifier.kind === "bridge" && [...rectifier.terminals.values()].some(touches)) arms += 2;
    if (rectifier.kind === "diode" && [...rectifier.terminals.values()].some(touches)) arms += 1;
    if (rectifier.kind === "valve")
      for (const section of rectifier.sections)
        if (touches(section.electrodes.get("cathode")))
          arms += ["plate1", "plate2"].filter((name) => section.electrodes.has(name)).length;
  }
  return arms === 1 || !idle ? mains : 2 * mains;
}
