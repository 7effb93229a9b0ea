import type { Circuit, NetIndex, Part } from "../../circuit/model.ts";
import { gridStopper } from "../../facts/practice.ts";
import { limit, partsOf, relatedPart } from "../frame/index.ts";
import type { Finding, Rule, RuleContext } from "../rule.ts";
import { alike } from "../shared/alike.ts";
import { networkOf } from "../shared/network.ts";
import { amplifying, electrodePlace, rated, type Section, sourceOf } from "../shared/sections.ts";
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
    const sections = amplifying(circuit);
    for (const section of sections) {
      if (section.grid === undefined || !section.facts || !networkOf(circuit).fixed(section.grid)) continue;
      const bias = biasOf(circuit, analysis, section);
      if (!bias) continue;
      const place = electrodePlace(section, "grid");
      if (bias.kind === "grid-leak") {
        context.unchecked(section.valve.reference, "grid-circuit resistance (grid-leak bias)", place);
        continue;
      }
      const fixed = rated(section, "gridOhmsFixedBias");
      const cathode = rated(section, "gridOhmsCathodeBias");
      const bound = bias.kind === "fixed" ? fixed : cathode;
      // What is allowed with fixed bias is allowed with any; how much more, only the sheet can say.
      if (!bound && fixed && worstOhms(context, section, sections) <= fixed.value) {
        context.checked(section.valve.reference);
        continue;
      }
      if (!bound) {
        context.unchecked(
          section.valve.reference,
          `grid-circuit resistance, ${bias.kind} bias (no limit is published)`,
          place,
        );
        continue;
      }
      const bogey = worstOhms(context, section, sections);
      const spread = bound.block.ratingSystem !== undefined && bound.block.ratingSystem !== "design-centre";
      const ohms = spread ? worstOhms(context, section, sections, true) : bogey;
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
        says: `${section.key}'s grid looks into`,
        value: ohms,
        limit: bound.value,
        limitIs: `${bound.words} with ${bias.kind} bias`,
        unit: "Ω",
        todo: "A smaller leak, and a larger coupling capacitor to keep the bass.",
        severity: leak <= bound.value ? "advice" : "error",
        note: leak <= bound.value ? "part tolerance included" : undefined,
        related: way
          .slice(0, 4)
          .map((part) => relatedPart(part, `${part.reference} is in the grid's way to its bias`)),
        source: sourceOf(section.facts, bound.block),
      });
      if (found) all.push(found);
    }
    yield* alike(all);
  },
};

/** Ohms per grid with every grid that hangs on the same resistances drawing alike, pots at their worst. */
function worstOhms(
  context: RuleContext,
  section: Section,
  sections: readonly Section[],
  /** With every part at the top of its tolerance: more of any resistance is never less of the whole. */
  spread = false,
): number {
  const { circuit } = context;
  const network = networkOf(circuit);
  const grid = section.grid as NetIndex;
  const way = network.partsFrom(grid);
  const mates = sections.filter(
    (other) => other.grid !== undefined && network.partsFrom(other.grid).some((part) => way.includes(part)),
  );
  const into = new Map<NetIndex, number>();
  for (const mate of mates.includes(section) ? mates : [section, ...mates]) {
    const net = mate.grid as NetIndex;
    into.set(net, (into.get(net) ?? 0) + 1);
  }
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
