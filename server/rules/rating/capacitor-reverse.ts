import type { Capacitor } from "../../circuit/model.ts";
import { reverse } from "../../facts/passives.ts";
import type { Solution, StateName } from "../../physics/results.ts";
import { limit, partsOf, relatedNet, worstOf } from "../frame/index.ts";
import type { Finding, Rule, RuleContext } from "../rule.ts";
import { onMains } from "../shared/mains-side.ts";

/** A capacitor with this much the right way is not reversed by any tolerance, */
const CLEAR_VOLTS = 5;
/** nor is one that has such a share of its nets' own volts across it. */
const CLEAR_SHARE = 0.5;

export const capacitorReverse: Rule = {
  id: "rating/capacitor-reverse",
  severity: "error",
  sentence: "The electrolytic is the wrong way round.",
  why:
    "A polarised electrolytic in reverse dissolves its own dielectric: it gasses, vents, and may burst in the face of whoever " +
    "leans over it.",
  source: `${reverse.source}: ${reverse.volts} V, ${reverse.briefVolts} V briefly`,
  quiet:
    "Quiet within a volt of zero (1.5 V in cold start), as on a capacitor between two points of equal volts, and on capacitors " +
    "that are not polarised.",
  caution: "Stand clear of a reversed electrolytic: discharge it and let it cool before you touch it.",
  bad: `amp "Bias reservoir the wrong way round"
source B1 50V { plus: gnd, minus: nB }
nB -- capacitor C1 47u 100V electrolytic -- gnd
nB -- resistor R1 47k 0.5W -- gnd
`,
  good: `amp "Bias reservoir, plus to common"
source B1 50V { plus: gnd, minus: nB }
gnd -- capacitor C1 47u 100V electrolytic -- nB
nB -- resistor R1 47k 0.5W -- gnd
`,
  leads: [{ rule: "rating/capacitor-voltage", sharing: "part", manner: "attach" }],
  *check(context) {
    const { circuit } = context;
    for (const part of partsOf(circuit, "capacitor")) {
      if (!part.polarised || onMains(circuit, part)) continue;
      const found =
        held(context, part, ["standby", "idle", "drive", "pulled"]) ?? held(context, part, ["cold"]);
      if (found) yield found;
    }
  },
};

function held(context: RuleContext, part: Capacitor, states: readonly StateName[]): Finding | undefined {
  const lowest = worstOf(
    context.analysis,
    { states, seek: "least" },
    (solution) => lowestVolts(solution, part),
    (solution) => (clear(solution, part) ? undefined : solution.band(part.reference, "volts")),
  );
  if (!lowest) return undefined;
  const brief = lowest.state === "cold";
  return limit(context, capacitorReverse, {
    on: part.reference,
    place: part.place,
    says: `${part.reference} is reversed: its minus stands above its plus by`,
    value: Math.max(0, -lowest.value),
    limit: brief ? reverse.briefVolts : reverse.volts,
    limitIs: brief ? "briefly allowed" : "allowed",
    unit: "V",
    state: lowest.state,
    mains: lowest.mains,
    todo: "Turn it round.",
    related: [...part.terminals].map(([terminal, net]) =>
      relatedNet(context.circuit, net, `its ${terminal}`),
    ),
  });
}

/** Tolerances turn round only a small difference between large volts. */
function clear(solution: Solution, part: Capacitor): boolean {
  const lowest = lowestVolts(solution, part) ?? 0;
  if (lowest > CLEAR_VOLTS) return true;
  const nets = [...part.terminals.values()].map((net) => Math.abs(solution.volts[net]));
  const most = Math.max(...nets);
  // Without volts there is nothing to turn round.
  return most < reverse.volts || lowest > CLEAR_SHARE * most;
}

function lowestVolts(solution: Solution, part: Capacitor): number | undefined {
  const [plus, minus] = [part.terminals.get("plus"), part.terminals.get("minus")];
  const reading = solution.readings.get(part.reference);
  const dc =
    reading?.volts ??
    (plus === undefined || minus === undefined ? undefined : solution.volts[plus] - solution.volts[minus]);
  if (dc === undefined || Number.isNaN(dc)) return undefined;
  return dc - (reading?.ripple ?? 0) / 2;
}
