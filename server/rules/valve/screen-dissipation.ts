import { drivenScreen } from "../../facts/practice.ts";
import { limit, partsOn, quantity, relatedPart, type Worst, when } from "../frame/index.ts";
import type { Finding, Rule, RuleContext } from "../rule.ts";
import { alike } from "../shared/alike.ts";
import {
  amplifying,
  electrodePlace,
  noLimit,
  type Rated,
  rated,
  type Section,
  sourceOf,
  whereOf,
} from "../shared/sections.ts";
import { averageOf, worstRated } from "../shared/worst-near.ts";
import { drivenState, drivenWatts } from "./driven.ts";
import { hottestSettings, readingAtEnd } from "./hot-end.ts";
import { atHotEnd } from "./hot-end-finding.ts";
import { publishedScreenWatts } from "./published.ts";

export const screenDissipation: Rule = {
  id: "valve/screen-dissipation",
  severity: "error",
  sentence: "The screen dissipates more than the sheet allows.",
  why:
    "A screen is fine wire: past its watts it sags or melts into the grid. It happens under drive, when the plate swings below " +
    "the screen, and in a standby that cuts the plates off alone, when the screen takes the whole current over.",
  source: "the valve's sheet; IEC 60134 for what it is held against",
  quiet:
    "Quiet up to the published limit; under drive the sheet's own full-output figure holds where it prints one (EL84: 4 W " +
    "beside 2 W without signal), and what its own operations put on the screen where that is more (7591A, 6550A). " +
    "Under drive less than 15 % past it is advice: the onset of clipping lies past the sheet's full signal.",
  bad: `amp "Screens left on"
source B1 260V { plus: HT, minus: gnd }
HT -- switch S1 standby dc 600V 3A -- HTp
HTp -- resistor R1 100R 5W wirewound -- p1
valve V1 EL84 { plate: p1, screen: HT, grid: g1, cathode: k1 }
g1 -- resistor R2 470k 0.5W -- gnd
k1 -- resistor R3 220R 5W wirewound -- gnd
`,
  good: `amp "Plates and screens switched together"
source B1 250V { plus: HT0, minus: gnd }
HT0 -- switch S1 standby dc 600V 3A -- HT
HT -- resistor R1 100R 5W wirewound -- p1
HT -- resistor R4 220R 1W -- s1
valve V1 EL84 { plate: p1, screen: s1, grid: g1, cathode: k1 }
g1 -- resistor R2 470k 0.5W -- gnd
k1 -- resistor R3 180R 5W wirewound -- gnd
`,
  *check(context) {
    const all: Finding[] = [];
    for (const section of amplifying(context.circuit)) {
      yield;
      if (section.screen === undefined) continue;
      // Its plate is not in the file: what the screen then takes over is the slip's doing.
      if (section.plate === undefined) {
        const place = electrodePlace(section, "screen");
        context.unchecked(
          section.valve.reference,
          "screen dissipation (its plate is not wired in the file)",
          place,
        );
        continue;
      }
      const bound = rated(section, "screenWatts");
      if (!bound) {
        context.unchecked(
          section.valve.reference,
          `screen dissipation (${noLimit(section)})`,
          electrodePlace(section, "screen"),
        );
        continue;
      }
      const found =
        still(context, section, bound) ??
        driven(context, section, bound) ??
        both(context, section) ??
        turned(context, section, bound);
      if (found) all.push(found);
    }
    yield* alike(all);
  },
};

function still(context: RuleContext, section: Section, bound: Rated): Finding | undefined {
  const key = `${section.key}.screen`;
  const most = worstRated(context.analysis, section.valve.reference, key, "watts", bound);
  if (!most) return undefined;
  return limit(context, screenDissipation, {
    ...common(context, section, bound),
    value: most.value,
    state: most.state,
    mains: most.mains,
    note: plateCutOff(section, most)
      ? "the plate is cut off, and the screen takes its current over"
      : undefined,
    estimate: most.estimate,
    todo: plateCutOff(section, most)
      ? "Let the switch take the screens' supply with the plates'."
      : "A larger resistor in the screen's lead, more bias, or a lower screen supply.",
  });
}

function driven(context: RuleContext, section: Section, bound: Rated): Finding | undefined {
  const full = rated(section, "screenFullSignalWatts") ?? bound;
  const most = drivenWatts(
    context.analysis,
    `${section.key}.screen`,
    whereOf(full.block),
    averageOf(section, full),
  );
  if (!most) return undefined;
  const shown = publishedScreenWatts(section);
  const own = shown && shown.value > full.value ? shown : undefined;
  const held = own?.value ?? full.value;
  return limit(context, screenDissipation, {
    ...common(context, section, full),
    value: most.value,
    limit: held,
    // The onset of clipping lies past the signal of the sheet's rows, and the law knows the screen there to some 15 %.
    severity: most.value <= held * (1 + drivenScreen.share) ? "advice" : undefined,
    limitIs: own
      ? "the most that the sheet's own operations put on it"
      : full === bound
        ? full.words
        : `${full.words} at full output`,
    ...(own ? { source: own.source } : undefined),
    ...drivenState(most),
    mains: most.mains,
    todo: "A larger resistor in the screen's lead holds it: 470 Ω to 1 kΩ is usual.",
  });
}

/** Within its limit as the bias pots are set, and past it at the hot end of their travel. */
function turned(context: RuleContext, section: Section, bound: Rated): Finding | undefined {
  const { circuit, analysis } = context;
  const end = hottestSettings(circuit, analysis, section);
  return atHotEnd(context, screenDissipation, {
    section,
    electrode: "screen",
    reading: "watts",
    bound,
    says: `${section.key}'s screen dissipates`,
    hot: readingAtEnd(analysis, end, `${section.key}.screen`, "watts", bound),
  });
}

/** Some sheets limit plate and screen together: it binds a triode-strapped valve. */
function both(context: RuleContext, section: Section): Finding | undefined {
  const bound = rated(section, "platePlusScreenWatts");
  if (!bound) return undefined;
  const [plate, screen] = ["plate", "screen"].map((name) =>
    worstRated(context.analysis, section.valve.reference, `${section.key}.${name}`, "watts", {
      value: 0,
      block: bound.block,
    }),
  );
  if (!plate || !screen) return undefined;
  const value = plate.value + screen.value;
  return limit(context, screenDissipation, {
    ...common(context, section, bound),
    says: `${section.key}'s plate and screen together dissipate`,
    value,
    limitIs: `${bound.words} for both`,
    state: plate.state,
    mains: plate.mains,
    note: `screen ${quantity(screen.value, "W")} ${when(screen.state)}`,
  });
}

function common(context: RuleContext, section: Section, bound: Rated) {
  const { screen } = section;
  const feeding =
    screen === undefined ? [] : partsOn(context.circuit, screen).filter((part) => part !== section.valve);
  return {
    on: [section.valve.reference, `${section.key}.screen`],
    place: electrodePlace(section, "screen"),
    says: `${section.key}'s screen dissipates`,
    limit: bound.value,
    limitIs: bound.words,
    unit: "W" as const,
    related: feeding.slice(0, 2).map((part) => relatedPart(part, `${part.reference} feeds the screen`)),
    source: sourceOf(section.facts, bound.block),
  };
}

function plateCutOff(section: Section, most: Worst): boolean {
  const plate = most.solution.readings.get(`${section.key}.plate`);
  const screen = most.solution.readings.get(`${section.key}.screen`);
  return (plate?.amps ?? 0) < 0.2 * (screen?.amps ?? 0);
}
