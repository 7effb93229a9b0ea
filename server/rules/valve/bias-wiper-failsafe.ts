import type { Pot } from "../../circuit/model.ts";
import { keptBias } from "../../facts/practice.ts";
import { finding, listed, metered, netName, partsOf } from "../frame/index.ts";
import type { Rule, RuleContext } from "../rule.ts";
import { networkOf } from "../shared/network.ts";
import { topologyOf } from "../shared/nodes.ts";
import { amplifying, type Section } from "../shared/sections.ts";
import { biasGrid, biasOf } from "./bias.ts";

export const biasWiperFailsafe: Rule = {
  id: "valve/bias-wiper-failsafe",
  severity: "warning",
  sentence: "If the bias pot's wiper loses contact, the bias goes with it.",
  why:
    "A trimmer's wiper is the least reliable contact in the amplifier. Wired so that an open wiper takes the bias off, it takes the " +
    "output valves and perhaps the transformer with it; a single resistor makes it fail to full bias instead.",
  source:
    "common practice: a resistor from the wiper to the most negative end, or the pot as the leg to common",
  quiet:
    "Quiet where the grids go more negative, or stay, when the wiper lifts; on pots that move the cathode's side; and on pots " +
    "between the two sides of a pair that only balance them and keep the bias when open.",
  bad: `amp "An open wiper leaves the grids adrift"
source B1 350V { plus: HT, minus: gnd }
source B2 55V { plus: gnd, minus: nB }
pot R9 10k lin 0.5W at 40% { top: nB, wiper: nC, bottom: nD }
nD -- resistor R8 22k 0.5W -- gnd
HT -- resistor R4 1k 3W wirewound -- s1
valve V1 6L6GC { plate: HT, screen: s1, grid: g1, cathode: gnd }
g1 -- resistor R1 47k 0.5W -- nC
`,
  good: `amp "A resistor takes them to full bias"
source B1 350V { plus: HT, minus: gnd }
source B2 55V { plus: gnd, minus: nB }
pot R9 10k lin 0.5W at 40% { top: nB, wiper: nC, bottom: nD }
nD -- resistor R8 22k 0.5W -- gnd
nB -- resistor R7 220k 0.5W -- nC
HT -- resistor R4 1k 3W wirewound -- s1
valve V1 6L6GC { plate: HT, screen: s1, grid: g1, cathode: gnd }
g1 -- resistor R1 47k 0.5W -- nC
`,
  *check(context) {
    const { circuit, analysis } = context;
    const fixed = amplifying(circuit).filter(
      (section) =>
        section.grid !== undefined &&
        section.screen !== undefined &&
        biasOf(circuit, analysis, section)?.kind === "fixed",
    );
    if (fixed.length === 0) return;
    const network = networkOf(circuit);
    for (const pot of partsOf(circuit, "pot")) {
      yield;
      if (!pot.terminals.has("wiper")) continue;
      const hung = fixed.filter((section) =>
        network.partsFrom(biasGrid(circuit, section) ?? -1).includes(pot),
      );
      if (hung.length === 0) continue;
      context.checked(pot.reference);
      const lost = hung.flatMap((section) => {
        const change = lifted(context, pot, section);
        return change ? [{ section, ...change }] : [];
      });
      if (lost.length === 0) continue;
      const adrift = lost.filter((entry) => entry.after === undefined);
      const keys = lost.map((entry) => entry.section.key);
      const first = lost[0];
      const what =
        adrift.length > 0
          ? `${listed(adrift.map((entry) => entry.section.key))} ${adrift.length > 1 ? "are" : "is"} left with no bias at all`
          : `${listed(keys)} go${keys.length > 1 ? "" : "es"} from ${metered(first.before, "V")} to ${metered(first.after ?? 0, "V")}`;
      yield finding(biasWiperFailsafe, {
        message:
          `If ${pot.reference}'s wiper opens, ${what}. A resistor (100 kΩ to 220 kΩ) from the wiper ` +
          `(${netName(circuit, pot.terminals.get("wiper") ?? 0)}) to the most negative end makes it fail to full bias.`,
        on: [pot.reference, ...keys],
        place: pot.referencePlace,
        state: "idle",
        mains: "nominal",
        related: lost.slice(0, 4).map(({ section }) => ({
          on: section.valve.reference,
          message: `${section.key} hangs on this bias`,
          place: section.valve.referencePlace,
        })),
      });
    }
  },
};

/** Grid volts with the wiper on and off; undefined where the bias keeps or grows. */
function lifted(
  context: RuleContext,
  pot: Pot,
  section: Section,
): { before: number; after: number | undefined } | undefined {
  const { circuit, analysis } = context;
  const idle = analysis.solution("idle", "nominal");
  // Through a follower the bias comes as it is set at that one's grid.
  const grid = biasGrid(circuit, section);
  if (!idle?.solved || grid === undefined || section.grid === undefined) return undefined;
  const network = networkOf(circuit);
  const topology = topologyOf(circuit);
  const volts = (node: number) => {
    const value = idle.volts[topology.nets[node]?.[0] ?? -1];
    return value === undefined || Number.isNaN(value) ? 0 : value;
  };
  const before = idle.volts[section.grid];
  const change = { lifted: new Set([pot.reference]) };
  if (!network.fixed(grid, change)) return { before, after: undefined };
  const solved = network.solve(new Map(), [grid], volts, change);
  const whole = network.solve(new Map(), [grid], volts);
  if (!solved || !whole) return { before, after: undefined };
  // Both by the same small network, so that what it leaves out is left out alike.
  const slack = Math.max(keptBias.volts, keptBias.share * Math.abs(whole[0]));
  return solved[0] > whole[0] + slack ? { before, after: before + solved[0] - whole[0] } : undefined;
}
