import type { Circuit, Pot } from "../../circuit/model.ts";
import { coldBias } from "../../facts/practice.ts";
import type { Analysis } from "../../physics/results.ts";
import { finding, listed, netName, percent, quantity, relatedPart } from "../frame/index.ts";
import type { Finding, Rule, RuleContext } from "../rule.ts";
import { alike } from "../shared/alike.ts";
import { networkOf } from "../shared/network.ts";
import { electrodePlace, rated, type Section } from "../shared/sections.ts";
import { type Bias, biasOf } from "./bias.ts";
import { hottestSettings } from "./hot-end.ts";
import { outputSections } from "./output.ts";

export const biasCold: Rule = {
  id: "valve/bias-cold",
  severity: "warning",
  sentence: "The output valve is biased so cold that it draws next to nothing without signal.",
  why:
    "Each valve of the pair then rests while the other works, and between them the signal is lost: small signals come out chopped. It " +
    "is the sign of a bias supply of the wrong volts, a cathode resistor of the wrong decade, or a valve that does not suit.",
  source: coldBias.source,
  quiet:
    "Advice, and a warning where less than a fiftieth of the plate's watts is left. Quiet from a seventh of them on in push-pull and a quarter in single-ended class A, on valves of less than 5 W, " +
    "where no HT comes to the plate, and where a bias pot whose setting the file does not write can be turned warm enough.",
  bad: `amp "Bias of the wrong winding"
source B1 400V { plus: HT, minus: gnd }
source B2 75V { plus: gnd, minus: nB }
HT -- resistor R4 1k 3W wirewound -- s1
HT -- resistor R5 1k 3W wirewound -- s2
valve V1 6L6GC { plate: pA, screen: s1, grid: g1, cathode: gnd }
valve V2 6L6GC { plate: pB, screen: s2, grid: g2, cathode: gnd }
g1 -- resistor R1 82k 0.5W -- nB
g2 -- resistor R2 82k 0.5W -- nB
output-transformer T1 50W {
  plates  5k6 120R { pA HT pB }
  speaker 8R 0.5R { spk gnd }
}
spk -- speaker LS1 8R 60W -- gnd
`,
  good: `amp "Its own"
source B1 400V { plus: HT, minus: gnd }
source B2 36V { plus: gnd, minus: nB }
HT -- resistor R4 1k 3W wirewound -- s1
HT -- resistor R5 1k 3W wirewound -- s2
valve V1 6L6GC { plate: pA, screen: s1, grid: g1, cathode: gnd }
valve V2 6L6GC { plate: pB, screen: s2, grid: g2, cathode: gnd }
g1 -- resistor R1 82k 0.5W -- nB
g2 -- resistor R2 82k 0.5W -- nB
output-transformer T1 50W {
  plates  5k6 120R { pA HT pB }
  speaker 8R 0.5R { spk gnd }
}
spk -- speaker LS1 8R 60W -- gnd
`,
  *check(context) {
    const { circuit, analysis } = context;
    const idle = analysis.solution("idle", "nominal");
    if (!idle?.solved) return;
    const all: Finding[] = [];
    const seen = new Set<string>();
    for (const { section, pushPull } of outputSections(circuit)) {
      yield;
      if (seen.has(section.key)) continue;
      seen.add(section.key);
      const bound = rated(section, "plateWatts")?.value;
      if (bound === undefined || bound < coldBias.leastPlateWatts) continue;
      const reading = idle.readings.get(`${section.key}.plate`);
      const { volts = Number.NaN, amps = Number.NaN, watts = Number.NaN } = reading ?? {};
      if (!(volts > coldBias.leastVolts) || Number.isNaN(watts)) continue;
      // Without volts on its screen no bias makes it draw: another fault, told where the screen comes from.
      if (section.screen !== undefined) {
        const { [section.screen]: screen = Number.NaN } = idle.volts;
        if (!(screen - (idle.volts[section.cathode ?? -1] ?? 0) > coldBias.leastScreenVolts)) continue;
      }
      context.checked(section.valve.reference);
      const share = pushPull ? coldBias.pushPullShare : coldBias.singleEndedShare;
      const least = share * bound;
      // A low supply is none of the bias's doing: at fewer volts the current alone counts.
      if (watts >= least * Math.min(1, volts / coldBias.usualVolts)) continue;
      const bias = biasOf(circuit, analysis, section);
      const warmest = hottest(context, section);
      if (warmest && warmest.watts >= least && warmest.pots.some((pot) => pot.setting.origin !== "file"))
        continue;
      all.push(
        finding(biasCold, {
          severity: watts < coldBias.cutOffShare * bound ? "warning" : "advice",
          message:
            `${section.key} is biased ${amps < NOTHING_AMPS ? "to" : "nearly to"} cut-off: its plate draws ${drawn(amps, volts, watts, bound)} at idle, with ` +
            `its grid ${at(analysis, section)}; practice asks for ${percent(share)} at least, and sets ` +
            `${pushPull ? "50 to 70 %" : "70 to 100 %"}. ${exchanged(circuit, section) ?? remedy(bias, warmest, least)}`,
          on: [
            section.valve.reference,
            `${section.key}.grid`,
            ...(bias?.setters.slice(0, 2).map((part) => part.reference) ?? []),
          ],
          place: electrodePlace(section, "grid"),
          state: "idle",
          mains: "nominal",
          value: watts,
          limit: least,
          unit: "W",
          related: (bias?.setters ?? [])
            .slice(0, 3)
            .map((part) => relatedPart(part, `${part.reference} sets the bias`)),
        }),
      );
    }
    yield* alike(all);
  },
};

/** Less than this is told as nothing: the law has no digits there. */
const NOTHING_AMPS = 50e-6;

function drawn(amps: number, volts: number, watts: number, bound: number): string {
  if (amps < NOTHING_AMPS) return `next to nothing at ${quantity(volts, "V")}`;
  return `${quantity(amps, "A")} at ${quantity(volts, "V")}, ${quantity(watts, "W")} of its ${quantity(bound, "W")} (${percent(watts / bound)})`;
}

interface Warmest {
  readonly watts: number;
  readonly pots: readonly Pot[];
}

function hottest({ circuit, analysis }: RuleContext, section: Section): Warmest | undefined {
  const hot = hottestSettings(circuit, analysis, section);
  if (!hot) return undefined;
  const solution = analysis.atSettings(hot.settings).solution("idle", "nominal");
  const watts = solution?.solved ? solution.readings.get(`${section.key}.plate`)?.watts : undefined;
  return watts === undefined ? undefined : { watts, pots: hot.pots };
}

function at(analysis: Analysis, { grid, cathode }: Section): string {
  const volts = analysis.solution("idle", "nominal")?.volts;
  if (!volts || grid === undefined || cathode === undefined) return "far negative";
  return `${quantity(volts[cathode] - volts[grid], "V")} below its cathode`;
}

/** A cathode that hangs on a grid's leak, and a grid on what a cathode's resistor would be. */
function exchanged(circuit: Circuit, { grid, cathode }: Section): string | undefined {
  if (grid === undefined || cathode === undefined) return undefined;
  const network = networkOf(circuit);
  const [ofGrid, ofCathode] = [network.wayToCommon(grid)?.ohms, network.wayToCommon(cathode)?.ohms];
  if (ofGrid === undefined || ofCathode === undefined) return undefined;
  if (ofCathode < coldBias.leakOhms || ofGrid > ofCathode * coldBias.exchangedShare) return undefined;
  return (
    `Its cathode (${netName(circuit, cathode)}) has ${quantity(ofCathode, "Ω")} to common, and its grid (${netName(circuit, grid)}) ` +
    `only ${quantity(ofGrid, "Ω")}: grid and cathode are exchanged. Exchange the two leads at the socket.`
  );
}

function remedy(bias: Bias | undefined, warmest: Warmest | undefined, least: number): string {
  if (warmest) {
    const names = listed(warmest.pots.map((pot) => pot.reference));
    return warmest.watts >= least
      ? `Turn ${names} the warm way, measuring the current: at the end of the travel it is ${quantity(warmest.watts, "W")}.`
      : `No setting of ${names} brings it there: at the warm end it is ${warmest.watts < 0.01 ? "still next to nothing" : quantity(warmest.watts, "W")}. Fewer negative volts from the bias supply.`;
  }
  if (bias?.kind === "cathode") return "A smaller cathode resistor: look at its decade.";
  return "Fewer negative volts from the bias supply.";
}
