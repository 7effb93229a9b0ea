import type { Capacitor, MainsLevel, NetIndex } from "../../circuit/model.ts";
import { electrolyticVolts, filmVolts, surge } from "../../facts/passives.ts";
import type { Solution, StateName } from "../../physics/results.ts";
import {
  alsoCold,
  ends,
  factPlace,
  finding,
  kept,
  LEVELS,
  limit,
  netName,
  partsOf,
  partsOn,
  quantity,
  relatedNet,
  relatedPart,
  rowOf,
  solutions,
  when,
} from "../frame/index.ts";
import type { Finding, Fix, Related, Rule, RuleContext } from "../rule.ts";
import { estimatedSupplies } from "../shared/estimates.ts";
import { onMains } from "../shared/mains-side.ts";
import { practice } from "../shared/margin.ts";
import { sectionsOnPlate } from "../shared/sections.ts";
import { nextOf, writeVolts } from "../shared/values.ts";
import { supplyOf } from "../supply/plate-supply.ts";
import { adrift } from "./series-capacitors.ts";
import { drivenPlates, FAR, mayDecide, type Stress, stressAcross, withTolerances } from "./stress.ts";

/** Below this nothing is asked of a capacitor that has no rating written. */
const STRESSED_VOLTS = 1;

export const capacitorVoltage: Rule = {
  id: "rating/capacitor-voltage",
  severity: "error",
  sentence: "The capacitor sees more volts than it is rated for.",
  why:
    "A film capacitor past its rating punches through and puts the HT on the next grid; an electrolytic past it leaks, heats " +
    "and vents. The worst is often not idle but the half minute after switch-on, when nothing draws current yet.",
  source: "IEC 60384-1 (rated voltage), IEC 60384-4 (surge voltage of electrolytics)",
  quiet:
    "Quiet in cold start on an electrolytic that stays inside its surge voltage and inside its rating once the valves draw " +
    "(that is what the surge rating is for; told as advice), and on mains capacitors, whose own standards hold them (mains/).",
  caution: "Discharge the reservoir capacitors and measure that they are before touching any of them.",
  bad: `amp "A 400 V coupling capacitor at switch-on"
source B1 440V { plus: HT, minus: gnd }
HT -- resistor R1 100k 1W 500V -- p1
valve V1 ECC83 { a { plate: p1, grid: g1, cathode: k1 } }
g1 -- resistor R2 1M 0.5W 350V -- gnd
k1 -- resistor R3 1k5 0.5W -- gnd
p1 -- capacitor C1 22n 400V film -- g2
g2 -- resistor R4 1M 0.5W 350V -- gnd
`,
  good: `amp "A 630 V coupling capacitor"
source B1 440V { plus: HT, minus: gnd }
HT -- resistor R1 100k 1W 500V -- p1
valve V1 ECC83 { a { plate: p1, grid: g1, cathode: k1 } }
g1 -- resistor R2 1M 0.5W 350V -- gnd
k1 -- resistor R3 1k5 0.5W -- gnd
p1 -- capacitor C1 22n 630V film -- g2
g2 -- resistor R4 1M 0.5W 350V -- gnd
`,
  *check(context) {
    const { circuit, analysis } = context;
    const plates = drivenPlates(analysis);
    for (const part of partsOf(circuit, "capacitor")) {
      yield;
      const nets = ends(part);
      if (!nets || nets[0] === nets[1] || onMains(circuit, part)) continue;
      const found = adrift(circuit, part) ? undefined : yield* worstOfAll(context, part, plates);
      if (!found) {
        // Nets that nothing fixes: circuit/no-dc-path tells them.
        context.unchecked(
          part.reference,
          "working voltage (the volts across it are not known)",
          part.referencePlace,
        );
        continue;
      }
      if (!part.volts) {
        yield* alternating(context, part, found);
        continue;
      }
      yield* held(context, part, part.volts.value, found);
    }
  },
};

interface Case {
  readonly solution: Solution;
  readonly stress: Stress;
  readonly note?: string;
  /** What goes cold with the output valves is still warm. */
  readonly stillWarm?: boolean;
}
const NO_LEVELS: readonly MainsLevel[] = [];
interface Cases {
  /** Worst over the states that last, and valves pulled. */
  readonly lasting?: Case;
  readonly pulled?: Case;
  readonly cold?: Case;
  /** Worst at the mains level that the margin of practice is kept at. */
  readonly usual?: Case;
  /** The stage ahead not drawing current, at idle. */
  readonly starved?: Starved;
}

function* worstOfAll(
  context: RuleContext,
  part: Capacitor,
  plates: ReadonlyMap<NetIndex, number>,
): Generator<undefined, Cases | undefined> {
  const list = solutions(context.analysis);
  const row = rowOf(context.analysis, part.reference);
  const stresses = list.map((solution) => stressAcross(solution, part, row));
  const most: Record<Group, number> = { cold: 0, pulled: 0, lasting: 0 };
  const ofState: Record<StateName, number> = { cold: 0, standby: 0, idle: 0, drive: 0, pulled: 0 };
  for (let k = 0; k < list.length; k++) {
    const stress = stresses[k];
    if (!stress) continue;
    const { state } = list[k];
    const group = groupOf(state);
    if (stress.worst > most[group]) most[group] = stress.worst;
    if (stress.worst > ofState[state]) ofState[state] = stress.worst;
  }
  const usualLevel = part.polarised ? "high" : "nominal";
  let [lasting, pulled, cold, usual]: (Case | undefined)[] = [];
  let starved: Starved | undefined;
  for (let k = 0; k < list.length; k++) {
    const solution = list[k];
    const { state, level } = solution;
    let stress = stresses[k];
    if (!stress) continue;
    // The levels of a state differ by the mains alone: the worst of them is the worst with tolerances too.
    if (stress.worst === ofState[state] && mayDecide(stress.peak, part.volts?.value, most[groupOf(state)])) {
      stress = withTolerances(stress, solution, part);
      yield;
    }
    if (state === "idle") stress = driven(stress, part, solution, plates);
    if (state === "cold") cold = worseOf(cold, solution, stress);
    else if (state === "pulled") pulled = worseOf(pulled, solution, stress);
    else {
      lasting = worseOf(lasting, solution, stress);
      if (level === usualLevel && !(usual && Math.abs(stress.peak) <= Math.abs(usual.stress.peak)))
        usual = { solution, stress };
    }
    if (state === "idle" && level === "high") {
      // One solution alone is at idle on high mains.
      starved = starvedAt(context, part, solution);
    }
  }
  // Pulled while all is warm, and the rectifier still gives what nobody takes.
  for (const level of context.analysis.unlit("pulled").size > 0 ? LEVELS : NO_LEVELS) {
    const solution = context.analysis.stillWarm(level);
    const stress = solution?.solved ? stressAcross(solution, part) : undefined;
    if (!solution || !stress) continue;
    const worst = withTolerances(stress, solution, part);
    if (!pulled || worst.worst > pulled.stress.worst) pulled = { solution, stress: worst, stillWarm: true };
    yield;
  }
  return lasting || pulled || cold ? { lasting, pulled, cold, usual, starved } : undefined;
}

const worseOf = (known: Case | undefined, solution: Solution, stress: Stress): Case =>
  known && stress.worst <= known.stress.worst ? known : { solution, stress };

type Group = "cold" | "pulled" | "lasting";

/** Solutions that are held against the same limit. */
const groupOf = (state: StateName): Group => (state === "cold" || state === "pulled" ? state : "lasting");

/** A capacitor on the plate of a driven output stage sees its swing. */
function driven(
  stress: Stress,
  part: Capacitor,
  solution: Solution,
  plates: ReadonlyMap<NetIndex, number>,
): Stress {
  const [a, b] = ends(part) ?? [0, 0];
  const peakA = plates.get(a);
  const peakB = plates.get(b);
  if (solution.level !== "high" || (peakA === undefined && peakB === undefined)) return stress;
  const high = Math.max(
    Math.abs((peakA ?? solution.volts[a]) - solution.volts[b]),
    Math.abs((peakB ?? solution.volts[b]) - solution.volts[a]),
    // From plate to plate of a push-pull stage the swings are opposed.
    peakA !== undefined && peakB !== undefined ? 2 * Math.abs(peakA - solution.volts[a]) : 0,
  );
  return high > stress.worst ? { dc: stress.dc, peak: high, worst: high } : stress;
}

interface Starved extends Case {
  /** Kept by far: its stress is only worked out when it is asked for. */
  readonly far: boolean;
}

/** The volts when the valve whose plate the capacitor hangs on draws nothing: all of that plate's supply. */
function starvedAt(context: RuleContext, part: Capacitor, solution: Solution): Starved | undefined {
  if (part.polarised || !part.volts) return undefined;
  const [a, b] = ends(part) ?? [0, 0];
  return starvedOn(context, part, solution, a, b) ?? starvedOn(context, part, solution, b, a);
}

function starvedOn(
  context: RuleContext,
  part: Capacitor,
  solution: Solution,
  plate: NetIndex,
  other: NetIndex,
): Starved | undefined {
  const { circuit } = context;
  const [section] = sectionsOnPlate(circuit, plate);
  if (!section) return undefined;
  const { volts } = solution;
  const fars: NetIndex[] = [];
  for (const load of partsOn(circuit, plate)) {
    if (load.kind !== "resistor") continue;
    const both = ends(load);
    const far = both?.[0] === plate ? both[1] : both?.[0];
    if (far !== undefined) fars.push(far);
  }
  const note = (from: NetIndex) => `${section.key} drawing nothing, so all of ${netName(circuit, from)}`;
  const [only] = fars;
  const nominal = Math.abs(volts[only] - volts[other]);
  if (fars.length === 1 && volts[only] > volts[plate] && nominal < FAR * (part.volts?.value ?? 0)) {
    return new StarvedByFar(
      solution,
      () => across(highest(solution, only) - volts[other]),
      () => note(only),
    );
  }
  let supply = Number.NEGATIVE_INFINITY;
  let from: NetIndex | undefined;
  for (const far of fars) {
    if (!(volts[far] > supply)) continue;
    supply = highest(solution, far);
    from = far;
  }
  if (from === undefined || !(supply > volts[plate])) return undefined;
  const apart = supply - volts[other];
  return Number.isNaN(apart) ? undefined : { solution, far: false, stress: across(apart), note: note(from) };
}

/** Kept by far: neither its stress nor its words are worked out before somebody asks. */
class StarvedByFar implements Starved {
  readonly far = true;
  private stressKept: Stress | undefined;
  constructor(
    readonly solution: Solution,
    private readonly findStress: () => Stress,
    private readonly findNote: () => string,
  ) {}
  get note(): string {
    return this.findNote();
  }
  get stress(): Stress {
    this.stressKept ??= this.findStress();
    return this.stressKept;
  }
}

const across = (volts: number): Stress => ({ dc: volts, peak: volts, worst: Math.abs(volts) });

/** A net's volts with the parts' tolerances at their worst. */
function highest(solution: Solution, net: NetIndex): number {
  const { high } = solution.netBand(net);
  return Number.isNaN(high) ? solution.volts[net] : high;
}

function* held(context: RuleContext, part: Capacitor, volts: number, cases: Cases): Generator<Finding> {
  const { lasting, cold, pulled, starved, usual } = cases;
  const electrolytic = part.polarised || part.material === "electrolytic";
  const surgeFactor = volts <= surge.upToVolts ? surge.factorUpTo : surge.factorAbove;
  const surgeVolts = part.surgeVolts?.value ?? (electrolytic ? volts * surgeFactor : volts);
  const written = part.surgeVolts ? "surge rating" : "surge voltage by IEC 60384-4";
  const series = electrolytic ? electrolyticVolts : filmVolts;
  const practised = electrolytic ? practice(context, "capacitor") : practice(context, "film", "capacitor");
  // The next rating must leave the margin of practice too, or one finding would only give way to another.
  const wanted = () =>
    Math.max(
      ...[lasting, cold, pulled, starved].map((entry) => entry?.stress.worst ?? 0),
      usual ? Math.abs(usual.stress.peak) / practised.margin : 0,
    );
  const words = (entry: Case, bound = volts) => ({
    says: `${part.reference} sees`,
    limitIs: bound > volts ? `rated ${quantity(volts, "V")}, ${written}` : undefined,
    note: [
      entry.stillWarm ? "while the rectifier is still warm" : undefined,
      entry.note ?? noteOf(context, part, entry),
    ]
      .filter(Boolean)
      .join(", "),
    related: () => causes(context, part),
    ...remedy(part, series, wanted(), electrolytic),
  });
  const place = part.factPlaces.get("volts") ?? part.referencePlace;
  const hold = (entry: Case, bound = volts, severity?: "warning") =>
    limit(context, capacitorVoltage, {
      on: part.reference,
      place,
      value: entry.stress.worst,
      limit: bound,
      unit: "V",
      severity,
      state: entry.solution.state,
      mains: entry.solution.level,
      words: () => words(entry, bound),
    });

  if (lasting) {
    const found = hold(lasting);
    if (found) return yield found;
  }
  // Cold start passes within half a minute where the valves then bring it down: the surge rating is for that.
  const brief = electrolytic && lasting !== undefined && lasting.stress.worst <= volts;
  if (cold) {
    const found = hold(cold, brief ? surgeVolts : volts);
    if (found) return yield found;
    if (cold.stress.worst > volts) {
      // Allowed, but not what one would choose.
      const why = `the ${written} of ${quantity(surgeVolts, "V")} is for that`;
      return yield inSurge(context, part, cold, volts, why, "advice", words(cold));
    }
  }
  if (pulled) {
    const found = hold(pulled, electrolytic ? surgeVolts : volts);
    if (found) return yield found;
    if (pulled.stress.worst > volts) {
      const why = `the ${written} of ${quantity(surgeVolts, "V")} is for moments, not for an hour on the bench`;
      return yield inSurge(context, part, pulled, volts, why, "warning", words(pulled));
    }
  }
  if (starved?.far) {
    const { solution } = starved;
    kept(context, capacitorVoltage, {
      on: part.reference,
      limit: volts,
      unit: "V",
      worst: () => ({ value: starved.stress.worst, state: solution.state, mains: solution.level }),
    });
  } else if (starved) {
    const found = hold(starved, volts, "warning");
    if (found) return yield found;
  }
  if (usual) {
    const found = limit(context, capacitorVoltage, {
      on: part.reference,
      place,
      value: Math.abs(usual.stress.peak),
      limit: volts,
      unit: "V",
      margin: practised.margin,
      marginSource: practised.marginSource,
      state: usual.solution.state,
      mains: usual.solution.level,
      words: () => words(usual),
    });
    if (found) yield found;
  }
}

/** Past the rating, inside the surge voltage. */
function inSurge(
  context: RuleContext,
  part: Capacitor,
  { solution, stress }: Case,
  volts: number,
  why: string,
  severity: "advice" | "warning",
  input: {
    readonly note?: string;
    readonly todo: string;
    readonly fix?: Fix;
    readonly related: () => (Related | undefined)[];
  },
): Finding {
  return finding(capacitorVoltage, {
    severity,
    message:
      `${part.reference} sees ${quantity(stress.worst, "V")} ${when(solution.state, solution.level)}` +
      `${input.note ? ` (${input.note})` : ""}: past its ${quantity(volts, "V")}; ${why}. ` +
      `${[alsoCold(context.analysis, solution.state), input.todo].filter(Boolean).join(" ")}`,
    on: part.reference,
    place: factPlace(part, "volts"),
    related: input.related(),
    state: solution.state,
    mains: solution.level,
    value: stress.worst,
    limit: volts,
    unit: "V",
    fix: input.fix,
  });
}

/** No dc rating written: an alternating one holds where the volts alternate; otherwise nothing can be held. */
function* alternating(context: RuleContext, part: Capacitor, cases: Cases): Generator<Finding> {
  const worst = [cases.lasting, cases.cold, cases.pulled]
    .filter((entry): entry is Case => entry !== undefined)
    .sort((a, b) => b.stress.worst - a.stress.worst)[0];
  if (!worst || worst.stress.worst < STRESSED_VOLTS) return;
  if (!part.voltsAlternating) {
    context.unchecked(part.reference, "working voltage (no rating written)", part.referencePlace);
    return;
  }
  const dc = Math.abs(worst.stress.dc);
  if (dc > 0.1 * Math.abs(worst.stress.peak)) {
    context.unchecked(
      part.reference,
      "working voltage (rated for ac alone, but dc stands across it)",
      part.referencePlace,
    );
    return;
  }
  const found = limit(context, capacitorVoltage, {
    on: part.reference,
    place: factPlace(part, "voltsAlternating"),
    says: `${part.reference} sees`,
    value: worst.stress.worst / Math.SQRT2,
    limit: part.voltsAlternating.value,
    limitIs: "rated, ac,",
    unit: "V",
    state: worst.solution.state,
    mains: worst.solution.level,
    related: causes(context, part),
  });
  if (found) yield found;
}

/** "HT3 unloaded": why it is so high. */
function noteOf(context: RuleContext, part: Capacitor, { solution, stress }: Case): string | undefined {
  const { circuit } = context;
  const [a, b] = ends(part) ?? [0, 0];
  const high = Math.abs(solution.volts[a]) >= Math.abs(solution.volts[b]) ? a : b;
  if (solution.state === "cold" || solution.state === "pulled" || solution.state === "standby") {
    const idle = context.analysis.solution("idle", solution.level);
    if (idle?.solved && Math.abs(solution.volts[high]) > 1.02 * Math.abs(idle.volts[high])) {
      const section = sectionsOnPlate(circuit, high)[0];
      const supply = section && supplyOf(circuit, section)?.net;
      return `${netName(circuit, supply ?? high)} unloaded`;
    }
  }
  const ripple = Math.abs(stress.peak) - Math.abs(stress.dc);
  if (ripple > 0.03 * Math.abs(stress.peak))
    return `${quantity(Math.abs(stress.dc), "V")} dc and the peak on it`;
  return undefined;
}

/** What makes it so: whatever feeds the net, nearest first. */
function causes(context: RuleContext, part: Capacitor): (Related | undefined)[] {
  const { circuit } = context;
  const [a, b] = ends(part) ?? [];
  const feeding = [a, b].flatMap((net) =>
    net === undefined || net === circuit.ground
      ? []
      : partsOn(circuit, net).filter((other) =>
          ["resistor", "choke", "valve", "transformer", "bridge", "diode"].includes(other.kind),
        ),
  );
  return [
    relatedNet(circuit, a === circuit.ground ? b : a, "the net that it stands on"),
    ...feeding.slice(0, 2).map((other) => relatedPart(other, `${other.reference} is on the same net`)),
    ...estimatedSupplies(circuit),
  ];
}

function remedy(
  part: Capacitor,
  series: readonly number[],
  worst: number,
  electrolytic: boolean,
): { todo: string; fix?: Fix } {
  const next = nextOf(series, worst);
  if (next === undefined) {
    return {
      todo: electrolytic
        ? "No single electrolytic is made for it: two in series, each with a resistor across it."
        : "No standard film rating reaches it.",
    };
  }
  const place = part.factPlaces.get("volts");
  return {
    todo: `Next standard rating: ${quantity(next, "V")}.`,
    fix: place && {
      title: `Make ${part.reference} a ${next} V part`,
      edits: [{ place, text: writeVolts(next) }],
    },
  };
}
