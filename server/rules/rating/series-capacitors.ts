import { KeptWith } from "../../circuit/kept-with.ts";
import type { Capacitor, Circuit, NetIndex } from "../../circuit/model.ts";
import { balancing, stackCharge, surge } from "../../facts/passives.ts";
import {
  ends,
  factPlace,
  finding,
  limit,
  netName,
  partsOf,
  partsOn,
  quantity,
  relatedPart,
  solutions,
} from "../frame/index.ts";
import type { Finding, Fix, Related, Rule, RuleContext } from "../rule.ts";
import { networkOf } from "../shared/network.ts";
import { netsWith, nodeOf, sameNode } from "../shared/nodes.ts";
import { ohmsDownCoarse, writeOhms } from "../shared/values.ts";

/** Two capacitors on less than this are no high-tension string. */
const STRING_VOLTS = 60;

export const seriesCapacitors: Rule = {
  id: "rating/series-capacitors",
  severity: "error",
  sentence:
    "Electrolytics in series have nothing that shares the volts between them, or charge to unlike volts.",
  why:
    "At dc they divide by their leakage, which nobody knows, not by their size: one ends with far more than half, fails short, " +
    "and hands the whole to the other. While they charge they divide by their size, and the resistors come too late: one much " +
    "smaller than the other takes nearly all at every switch-on.",
  source: `makers' guides: series electrolytics must have balancing resistors; ${balancing.source}`,
  quiet:
    "Quiet where a resistor, a winding or a supply fixes the midpoint (a doubler does), and below 60 V. The resistor's size is " +
    "held against a maker's formula, as advice only. Unlike ones are passed where each stays inside its surge voltage, and where what " +
    "fixes the midpoint does so within half a second.",
  caution: "Discharge both capacitors of the string and measure each before you touch them.",
  bad: `amp "Two cans in series, no resistors"
source B1 600V { plus: HT, minus: gnd }
HT -- capacitor C1 100u 350V electrolytic -- mid -- capacitor C2 100u 350V electrolytic -- gnd
HT -- resistor R1 470k 2W 700V -- gnd
`,
  good: `amp "Two cans in series, each with its resistor"
source B1 600V { plus: HT, minus: gnd }
HT -- capacitor C1 100u 350V electrolytic -- mid -- capacitor C2 100u 350V electrolytic -- gnd
HT -- resistor R1 150k 2W 350V -- mid -- resistor R2 150k 2W 350V -- gnd
`,
  leads: [
    { rule: "circuit/no-dc-path", sharing: "part", manner: "attach" },
    { rule: "rating/capacitor-reverse", sharing: "part", manner: "attach" },
    { rule: "rating/capacitor-voltage", sharing: "part", manner: "mark" },
    { rule: "supply/discharge-path", sharing: "part", manner: "mark" },
  ],
  *check(context) {
    const seen = new Set<string>();
    for (const part of partsOf(context.circuit, "capacitor")) {
      yield;
      if (!part.polarised) continue;
      for (const net of ends(part) ?? []) {
        const pair = stringAt(context.circuit, net, part);
        if (!pair) continue;
        const key = pair.parts.map((one) => one.reference).join();
        if (seen.has(key)) continue;
        seen.add(key);
        const found = held(context, pair) ?? unlike(context, pair);
        if (found) yield found;
      }
    }
  },
};

/** True for one of a string that nothing shares the volts in: what it sees is anybody's guess. */
export function adrift(circuit: Circuit, part: Capacitor): boolean {
  if (!part.polarised) return false;
  const network = networkOf(circuit);
  return (ends(part) ?? []).some((net) => stringAt(circuit, net, part) && !network.fixed(net));
}

interface Pair {
  readonly mid: NetIndex;
  /** Upper (its minus at the midpoint), lower (its plus there). */
  readonly parts: readonly [Capacitor, Capacitor];
  readonly top: NetIndex;
  readonly bottom: NetIndex;
}

/** Two electrolytics nose to tail at a net, the upper one ending where the lower begins. */
function stringAt(circuit: Circuit, net: NetIndex, part: Capacitor): Pair | undefined {
  if (net === circuit.ground) return undefined;
  const here = polarisedAt(circuit, net);
  if (here.length < 2) return undefined;
  const at = (capacitor: Capacitor, terminal: string) => {
    const own = capacitor.terminals.get(terminal);
    return own !== undefined && sameNode(circuit, own, net);
  };
  const upper = here.find((one) => at(one, "minus"));
  const lower = here.find((one) => at(one, "plus") && one !== upper);
  if (!upper || !lower || (part !== upper && part !== lower)) return undefined;
  const top = upper.terminals.get("plus");
  const bottom = lower.terminals.get("minus");
  if (top === undefined || bottom === undefined) return undefined;
  return { mid: net, parts: [upper, lower], top, bottom };
}

const kept = new KeptWith<Circuit, Map<number, readonly Capacitor[]>>();

/** Polarised capacitors on any net of a net's node. */
function polarisedAt(circuit: Circuit, net: NetIndex): readonly Capacitor[] {
  let byNode = kept.get(circuit);
  if (!byNode) {
    byNode = new Map();
    kept.set(circuit, byNode);
  }
  const node = nodeOf(circuit, net);
  let here = byNode.get(node);
  if (!here) {
    here = netsWith(circuit, net)
      .flatMap((own) => partsOn(circuit, own))
      .filter((other): other is Capacitor => other.kind === "capacitor" && other.polarised);
    byNode.set(node, here);
  }
  return here;
}

interface Across {
  readonly volts: number;
  readonly state: Pick<Finding, "state" | "mains">;
}

/** The most that a string has across, in any state. */
function mostAcross({ analysis }: RuleContext, pair: Pair): Across {
  let volts = 0;
  let state: Pick<Finding, "state" | "mains"> = {};
  for (const solution of solutions(analysis)) {
    const across = solution.volts[pair.top] - solution.volts[pair.bottom];
    if (across > volts) {
      volts = across;
      state = { state: solution.state, mains: solution.level };
    }
  }
  return { volts, state };
}

/**
 * A string of unlike sizes. One charge goes through both, so that at switch-on each takes volts in the inverse measure of its
 * capacitance, whatever the resistors do later: that takes their resistance times both capacitances together.
 */
function unlike(context: RuleContext, pair: Pair): Finding | undefined {
  const { circuit } = context;
  const network = networkOf(circuit);
  const { volts, state } = mostAcross(context, pair);
  if (volts < STRING_VOLTS) return undefined;
  const [ofUpper, ofLower] = [beside(circuit, pair.top, pair.mid), beside(circuit, pair.mid, pair.bottom)];
  const sizes = [ofUpper, ofLower].map((parts) => parts.reduce((sum, part) => sum + part.farads.value, 0));
  const all = sizes[0] + sizes[1];
  const small = sizes[0] <= sizes[1] ? 0 : 1;
  const [part, other] = small === 0 ? pair.parts : [pair.parts[1], pair.parts[0]];
  if (!part.volts || sizes[small] > stackCharge.alike * sizes[1 - small]) return undefined;
  const ohms = network.solve(new Map([[pair.mid, 1]]), [pair.mid], () => 0)?.[0] ?? Number.NaN;
  const seconds = ohms * all;
  if (!(seconds >= stackCharge.leastSeconds)) return undefined;
  const factor = part.volts.value <= surge.upToVolts ? surge.factorUpTo : surge.factorAbove;
  const most = part.surgeVolts?.value ?? part.volts.value * factor;
  const taken = (volts * sizes[1 - small]) / all;
  return limit(context, seriesCapacitors, {
    on: [part.reference, other.reference, netName(circuit, pair.mid)],
    place: factPlace(part, "farads"),
    value: taken,
    limit: most,
    unit: "V",
    mains: state.mains,
    source: `${stackCharge.source}; ${surge.source}`,
    words: () => ({
      says:
        `${part.reference} of ${quantity(sizes[small], "F")} and ${other.reference} of ${quantity(sizes[1 - small], "F")} stand in series, ` +
        `and charging they share the volts in inverse measure to their capacitance: ${part.reference} takes`,
      note: `of ${quantity(volts, "V")} in all`,
      limitIs: part.surgeVolts ? "surge rating" : "surge voltage",
      stateWords: "at switch-on",
      todo:
        `The resistors bring it to its share only within some ${quantity(seconds, "s", 2)}. Two alike: ` +
        `look at the decade of ${part.reference}.`,
      related: [relatedPart(other, "the other of the string")],
    }),
  });
}

/** Every capacitor between two nets. */
function beside(circuit: Circuit, from: NetIndex, to: NetIndex): readonly Capacitor[] {
  return netsWith(circuit, from)
    .flatMap((own) => partsOn(circuit, own))
    .filter((part): part is Capacitor => part.kind === "capacitor")
    .filter((part, index, list) => {
      const [a, b] = ends(part) ?? [];
      if (a === undefined || b === undefined || list.indexOf(part) !== index) return false;
      return sameNode(circuit, a, from) ? sameNode(circuit, b, to) : sameNode(circuit, a, to);
    });
}

function held(context: RuleContext, pair: Pair): Finding | undefined {
  const { circuit } = context;
  const [upper, lower] = pair.parts;
  const { volts, state } = mostAcross(context, pair);
  if (volts < STRING_VOLTS) return undefined;
  context.checked(upper.reference);
  const network = networkOf(circuit);
  const rating = Math.min(
    upper.volts?.value ?? Number.POSITIVE_INFINITY,
    lower.volts?.value ?? Number.POSITIVE_INFINITY,
  );
  const largest = largestResistor(rating, volts, Math.max(upper.farads.value, lower.farads.value));
  if (network.fixed(pair.mid)) return undefined;
  const upperFarads = upper.farads.value * (1 - upper.tolerance.value);
  const lowerFarads = lower.farads.value * (1 + lower.tolerance.value);
  const worse = (volts * lowerFarads) / (upperFarads + lowerFarads);
  const ohms = ohmsDownCoarse(Math.min(largest ?? 220e3, 220e3));
  const related: (Related | undefined)[] = [relatedPart(lower, "the other of the string")];
  return finding(seriesCapacitors, {
    message:
      `${upper.reference} and ${lower.reference} stand in series on ${quantity(volts, "V")} and nothing shares it between them: ` +
      `${netName(circuit, pair.mid)} has no dc path. By their tolerances alone one may take ${quantity(worse, "V")}` +
      `${Number.isFinite(rating) ? ` of its ${quantity(rating, "V")}` : ""}, by leakage all of it. ` +
      `A resistor of ${writeOhms(ohms)} across each, of a body that holds half the volts.`,
    on: [upper.reference, lower.reference, netName(circuit, pair.mid)],
    place: upper.place,
    related,
    ...state,
    value: volts,
    unit: "V",
    fix: balanced(context, pair, ohms, volts),
  });
}

/** By the maker's formula; undefined where the two together do not hold the volts anyway. */
function largestResistor(rating: number, volts: number, farads: number): number | undefined {
  if (!Number.isFinite(rating)) return undefined;
  const megohms = (2 * rating - volts) / (balancing.factor * farads * 1e6 * volts);
  return megohms > 0 ? megohms * 1e6 : undefined;
}

function balanced(context: RuleContext, pair: Pair, ohms: number, volts: number): Fix | undefined {
  const { circuit } = context;
  const [upper] = pair.parts;
  const name = (net: NetIndex) => netName(circuit, net);
  // Inside a used block the nets have other names where the text stands.
  if ([pair.top, pair.mid, pair.bottom].some((net) => name(net).includes("."))) return undefined;
  const taken = (reference: string) => circuit.partByReference.has(reference);
  let number = 1;
  while (taken(`R${number}`) || taken(`R${number + 1}`)) number++;
  const facts = `${writeOhms(ohms)} 3W metal-oxide ${Math.ceil((volts * 0.6) / 50) * 50}V`;
  const text =
    `\n${name(pair.top)} -- resistor R${number} ${facts} -- ${name(pair.mid)}` +
    `\n${name(pair.mid)} -- resistor R${number + 1} ${facts} -- ${name(pair.bottom)}`;
  const { file, range } = lastOf(pair);
  return {
    title: `Put ${writeOhms(ohms)} across ${upper.reference} and ${pair.parts[1].reference}`,
    edits: [{ place: { file, range: { start: range.end, end: range.end } }, text }],
  };
}

/** The end of the statement that the string stands in: whichever word of it comes last. */
function lastOf(pair: Pair) {
  const [upper, lower] = pair.parts;
  const places = [
    upper.place,
    lower.place,
    ...upper.terminalPlaces.values(),
    ...lower.terminalPlaces.values(),
  ].filter((place) => place.file === upper.place.file);
  return places.reduce((last, place) => (place.range.end > last.range.end ? place : last));
}
