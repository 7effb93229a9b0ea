import { KeptWith } from "../../circuit/kept-with.ts";
import type { Circuit, NetIndex, Part } from "../../circuit/model.ts";
import { rippleByHertz, rippleNegligibleAmps } from "../../facts/passives.ts";
import type { Analysis } from "../../physics/results.ts";
import { factPlace, limit, netsOf, partsOf, relatedNet, type Where } from "../frame/index.ts";
import type { Rule } from "../rule.ts";
import { onMains } from "../shared/mains-side.ts";
import { worstNear } from "../shared/worst-near.ts";
import { between } from "../supply/rectifiers.ts";

const LASTING: Where = { states: ["idle", "drive", "standby"] };

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
      yield;
      if (!part.polarised || onMains(circuit, part)) continue;
      const hertz = hertzOf(circuit.mains.hertz, analysis, part.reference);
      const factor = between(rippleByHertz.factors, hertz, "flat");
      const bound = part.rippleAmps && part.rippleAmps.value * factor;
      const most = worstNear(analysis, part.reference, "rms", bound ?? Number.POSITIVE_INFINITY, LASTING);
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
  const on = new Map<Part, number>();
  for (const net of part ? netsOf(part) : [])
    for (const found of armsOn(analysis.circuit, net)) {
      // A diode or a bridge counts once, a valve with each of its cathodes.
      const known = on.get(found.part);
      if (known === undefined || found.part.kind === "valve") on.set(found.part, (known ?? 0) + found.arms);
    }
  let arms = 0;
  for (const count of on.values()) arms += count;
  return arms === 1 || !idle ? mains : 2 * mains;
}

interface Arms {
  readonly part: Part;
  readonly arms: number;
}

const kept = new KeptWith<Circuit, ReadonlyMap<NetIndex, readonly Arms[]>>();

/** Rectifiers on a net, with the number of their elements that conduct into it. */
function armsOn(circuit: Circuit, net: NetIndex): readonly Arms[] {
  let byNet = kept.get(circuit);
  if (!byNet) {
    byNet = findArms(circuit);
    kept.set(circuit, byNet);
  }
  return byNet.get(net) ?? [];
}

function findArms(circuit: Circuit): ReadonlyMap<NetIndex, readonly Arms[]> {
  const byNet = new Map<NetIndex, Arms[]>();
  const add = (net: NetIndex, part: Part, arms: number) => {
    const list = byNet.get(net);
    if (list) list.push({ part, arms });
    else byNet.set(net, [{ part, arms }]);
  };
  for (const part of partsOf(circuit, "bridge", "diode", "valve")) {
    if (part.kind !== "valve") for (const net of netsOf(part)) add(net, part, part.kind === "bridge" ? 2 : 1);
    else
      for (const { electrodes } of part.sections) {
        const cathode = electrodes.get("cathode");
        const plates = ["plate1", "plate2"].filter((name) => electrodes.has(name)).length;
        if (cathode !== undefined && plates > 0) add(cathode, part, plates);
      }
  }
  return byNet;
}
