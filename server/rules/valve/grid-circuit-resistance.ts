import { KeptWith } from "../../circuit/kept-with.ts";
import type { Circuit, NetIndex, Part } from "../../circuit/model.ts";
import { gridStopper } from "../../facts/practice.ts";
import { isValueless, LEVELS, limit, partsOf, relatedPart, solutions } from "../frame/index.ts";
import type { Finding, Rule, RuleContext } from "../rule.ts";
import { alike } from "../shared/alike.ts";
import { networkOf } from "../shared/network.ts";
import { netsWith } from "../shared/nodes.ts";
import {
  amplifying,
  electrodePlace,
  noLimit,
  type Rated,
  rated,
  type Section,
  sourceOf,
} from "../shared/sections.ts";
import { biasOf } from "./bias.ts";

export const gridCircuitResistance: Rule = {
  id: "valve/grid-circuit-resistance",
  severity: "error",
  sentence: "The grid looks into more resistance than the sheet allows.",
  why:
    "A hot grid emits and leaks a little: across too much resistance that current takes the bias off, which makes more current, " +
    "more heat and more of the same, until the plate glows. With fixed bias nothing stops it, so less is allowed.",
  source: "the valve's sheet, for fixed and for cathode bias",
  quiet:
    "Quiet up to the published figure for the way the valve is biased; on grids coupled straight to a plate or cathode, which " +
    "hold them; and on grid-leak bias, for which sheets allow far more. A resistance shared by n grids counts n times. " +
    "Where a sheet allows more to a valve that is not worked hard, that holds as long as it is not, at idle and driven. " +
    "A stopper is not held against the leak, and what the parts' tolerance alone takes past the figure is advice.",
  bad: `amp "220 k leaks with fixed bias"
source B1 400V { plus: HT, minus: gnd }
source B2 36V { plus: gnd, minus: nB }
HT -- resistor R4 470R 5W wirewound -- s1
valve V1 6L6GC { plate: HT, screen: s1, grid: g1, cathode: gnd }
g1 -- resistor R1 220k 0.5W -- nB
`,
  good: `amp "82 k leaks with fixed bias"
source B1 400V { plus: HT, minus: gnd }
source B2 40V { plus: gnd, minus: nB }
HT -- resistor R4 470R 5W wirewound -- s1
valve V1 6L6GC { plate: HT, screen: s1, grid: g1, cathode: gnd }
g1 -- resistor R1 82k 0.5W metal-film -- nB
`,
  *check(context) {
    const all: Finding[] = [];
    const { circuit, analysis } = context;
    for (const section of amplifying(circuit)) {
      yield;
      if (section.grid === undefined || !section.facts || !networkOf(circuit).fixed(section.grid)) continue;
      // Tied to its own cathode, as in a section that nobody uses, it has no bias to lose.
      if (section.cathode !== undefined && netsWith(circuit, section.grid).includes(section.cathode))
        continue;
      const bias = biasOf(circuit, analysis, section);
      if (!bias) continue;
      const place = electrodePlace(section, "grid");
      const unknown = networkOf(circuit).partsFrom(section.grid).find(isValueless);
      if (unknown) {
        context.unchecked(
          section.valve.reference,
          `grid-circuit resistance (${unknown.reference} has no value)`,
          place,
        );
        continue;
      }
      if (bias.kind === "grid-leak") {
        context.unchecked(section.valve.reference, "grid-circuit resistance (grid-leak bias)", place);
        continue;
      }
      const fixed = rated(section, "gridOhmsFixedBias");
      const cathode = rated(section, "gridOhmsCathodeBias");
      const bound = eased(context, section, bias.kind, bias.kind === "fixed" ? fixed : cathode);
      // What is allowed with fixed bias is allowed with any; how much more, only the sheet can say.
      if (!bound && fixed && worstOhms(context, section) <= fixed.value) {
        context.checked(section.valve.reference);
        continue;
      }
      if (!bound) {
        context.unchecked(
          section.valve.reference,
          `grid-circuit resistance, ${bias.kind} bias (${noLimit(section)})`,
          place,
        );
        continue;
      }
      const bogey = worstOhms(context, section);
      const spread = bound.block.ratingSystem !== undefined && bound.block.ratingSystem !== "design-centre";
      const ohms = spread ? worstOhms(context, section, true) : bogey;
      const way = networkOf(circuit).partsFrom(section.grid);
      // Sheets print the leak: one that is within the figure is passed whatever stopper stands before it; what its tolerance
      // alone may take past it is remarked on.
      const leak = leakOhms(circuit, section, bogey) * (1 - 1e-9);
      if (leak <= bound.value && bogey > bound.value) {
        context.checked(section.valve.reference);
        continue;
      }
      const found = limit(context, gridCircuitResistance, {
        on: [section.valve.reference, `${section.key}.grid`],
        place,
        value: ohms,
        limit: bound.value,
        unit: "Ω",
        severity: leak <= bound.value ? "advice" : "error",
        source: sourceOf(section.facts, bound.block),
        words: () => ({
          says: `${section.key}'s grid looks into`,
          limitIs: `${bound.words} with ${bias.kind} bias`,
          todo: "A smaller leak, and a larger coupling capacitor to keep the bass.",
          note: leak <= bound.value ? "part tolerance included" : undefined,
          // Where the way ends on a supply's winding, as with back bias, that is its end and no part of it.
          related: way
            .filter((part) => part.kind !== "transformer")
            .slice(0, 4)
            .map((part) => relatedPart(part, `${part.reference} is in the grid's way to its bias`)),
        }),
      });
      if (found) all.push(found);
    }
    yield* alike(all);
  },
};

/** The figure that some sheets give for a valve that is not worked hard, where this one is not. */
function eased(
  { analysis }: RuleContext,
  section: Section,
  kind: string,
  bound: Rated | undefined,
): Rated | undefined {
  const below = bound?.block.gridOhmsBelowWatts;
  const value =
    kind === "fixed" ? bound?.block.gridOhmsFixedBiasBelow : bound?.block.gridOhmsCathodeBiasBelow;
  if (!bound || below === undefined || value === undefined) return bound;
  const plate = `${section.key}.plate`;
  const screen = `${section.key}.screen`;
  let most = 0;
  for (const { readings } of solutions(analysis, { states: ["idle"] })) {
    const watts = readings.get(plate)?.watts;
    if (watts === undefined) return bound;
    most = Math.max(most, watts + (readings.get(screen)?.watts ?? 0));
  }
  for (const level of LEVELS) {
    for (const { worst } of analysis.drive(level)) {
      // Each at its own worst: more than both at once.
      most = Math.max(most, (worst.get(plate)?.watts ?? 0) + (worst.get(screen)?.watts ?? 0));
    }
  }
  return most < below ? { ...bound, value } : bound;
}

const onWays = new KeptWith<Circuit, ReadonlyMap<Part, readonly number[]>>();

/** Sections whose grids' ways share a part with one way, in the file's order. */
function matesOf(circuit: Circuit, way: readonly Part[]): readonly Section[] {
  const sections = amplifying(circuit);
  let byPart = onWays.get(circuit);
  if (!byPart) {
    const network = networkOf(circuit);
    const found = new Map<Part, number[]>();
    for (const [index, { grid }] of sections.entries()) {
      if (grid === undefined) continue;
      for (const part of network.partsFrom(grid)) {
        const list = found.get(part);
        if (list) list.push(index);
        else found.set(part, [index]);
      }
    }
    byPart = found;
    onWays.set(circuit, byPart);
  }
  const mates = new Set<number>();
  for (const part of way) for (const index of byPart.get(part) ?? []) mates.add(index);
  return [...mates].sort((a, b) => a - b).map((index) => sections[index]);
}

/** Ohms per grid with every grid that hangs on the same resistances drawing alike, pots at their worst. */
function worstOhms(
  context: RuleContext,
  section: Section,
  /** With every part at the top of its tolerance: more of any resistance is never less of the whole. */
  spread = false,
): number {
  const { circuit } = context;
  const network = networkOf(circuit);
  const grid = section.grid as NetIndex;
  const way = network.partsFrom(grid);
  const into = new Map<NetIndex, number>();
  const draw = (net: NetIndex | undefined) => {
    if (net !== undefined) into.set(net, (into.get(net) ?? 0) + 1);
  };
  const mates = matesOf(circuit, way);
  if (!mates.includes(section)) draw(section.grid);
  for (const mate of mates) draw(mate.grid);
  const pots = partsOf(circuit, "pot").filter((part) => way.includes(part));
  let most = 0;
  for (const setting of pots.length > 0 ? [undefined, 0, 0.5, 1] : [undefined]) {
    const settings = new Map(setting === undefined ? [] : pots.map((pot) => [pot.reference, setting]));
    const solved = network.solve(into, [grid], () => 0, { settings, scale: spread ? topOf : undefined });
    if (solved) most = Math.max(most, solved[0]);
  }
  return most;
}

const topOf = (part: Part): number =>
  part.kind === "resistor" || part.kind === "pot" ? 1 + part.tolerance.value : 1;

/** The one resistance that is nearly the whole: what stands in series (stopper, the far end's own) is small beside it. */
function leakOhms(circuit: Circuit, section: Section, whole: number): number {
  const parts = networkOf(circuit).partsFrom(section.grid as NetIndex);
  const largest = Math.max(
    0,
    ...parts.map((part) => (part.kind === "resistor" || part.kind === "pot" ? part.ohms.value : 0)),
  );
  return largest <= whole && largest >= (1 - gridStopper.mostShare) * whole ? largest : whole;
}
