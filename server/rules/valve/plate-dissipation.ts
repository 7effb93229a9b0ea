import type { StateName } from "../../physics/results.ts";
import { limit, listed, quantity, relatedPart, type Worst, when } from "../frame/index.ts";
import type { Finding, Fix, Related, Rule, RuleContext } from "../rule.ts";
import { alike } from "../shared/alike.ts";
import { estimatedSupplies } from "../shared/estimates.ts";
import { explainedBy } from "../shared/explained.ts";
import { practice } from "../shared/margin.ts";
import {
  amplifying,
  electrodePlace,
  noLimit,
  type Rated,
  rated,
  type Section,
  sourceOf,
  systemWords,
  whereOf,
} from "../shared/sections.ts";
import { ohmsUp, writeOhms } from "../shared/values.ts";
import { averageOf, worstRated } from "../shared/worst-near.ts";
import { biasOf } from "./bias.ts";
import { lostBias } from "./bias-lost.ts";
import { drivenState, drivenWatts } from "./driven.ts";
import { coolestSettings, hottestSettings, readingAtEnd } from "./hot-end.ts";
import { atHotEnd } from "./hot-end-finding.ts";

export const plateDissipation: Rule = {
  id: "valve/plate-dissipation",
  severity: "error",
  sentence: "The plate dissipates more than the sheet allows.",
  why:
    "Past its watts the plate reddens, gas comes out of it, the grid begins to emit and the current runs away: the valve goes, " +
    "and often the transformer with it.",
  source: "the valve's sheet; IEC 60134 for what it is held against",
  quiet:
    "Quiet up to the published limit itself, where the sheets' own class A operations stand; a design-centre limit is held at " +
    "nominal mains with nominal parts, a design-maximum one at high mains with the worst parts. A bias pot counts as it is set; where " +
    "its hot end would pass the limit that is advice, and where no setting does, nothing.",
  bad: `amp "An EL84 run hot"
source B1 285V { plus: HT, minus: gnd }
HT -- resistor R1 100R 5W wirewound -- p1
HT -- resistor R4 1k 1W -- s1
valve V1 EL84 { plate: p1, screen: s1, grid: g1, cathode: k1 }
g1 -- resistor R2 470k 0.5W -- gnd
k1 -- resistor R3 150R 5W wirewound -- gnd
`,
  good: `amp "An EL84 at its ease"
source B1 250V { plus: HT, minus: gnd }
HT -- resistor R1 100R 5W wirewound -- p1
HT -- resistor R4 1k 1W -- s1
valve V1 EL84 { plate: p1, screen: s1, grid: g1, cathode: k1 }
g1 -- resistor R2 470k 0.5W -- gnd
k1 -- resistor R3 180R 5W wirewound -- gnd
`,
  leads: [
    { rule: "valve/cathode-current", sharing: "part", manner: "mark" },
    { rule: "valve/screen-dissipation", sharing: "part", manner: "mark" },
    { rule: "output/transformer-current", sharing: "any", manner: "mark" },
    { rule: "rating/choke-current", sharing: "any", manner: "mark" },
    { rule: "rating/resistor-power", sharing: "any", manner: "mark", explains: explainedBy(2) },
    { rule: "supply/winding-current", sharing: "any", manner: "mark", explains: explainedBy(1) },
  ],
  *check(context) {
    const all: Finding[] = [];
    const twins = new Map<string, Section[]>();
    for (const section of amplifying(context.circuit)) {
      yield;
      if (section.plate === undefined) continue;
      const twin = twins.get(section.valve.reference);
      if (twin) twin.push(section);
      else twins.set(section.valve.reference, [section]);
      const bound = rated(section, "plateWatts");
      if (!bound) {
        context.unchecked(
          section.valve.reference,
          `plate dissipation (${noLimit(section)})`,
          electrodePlace(section, "plate"),
        );
        continue;
      }
      const found = held(context, section, bound) ?? turned(context, section, bound);
      if (found) all.push(found);
    }
    yield* alike(all);
    for (const sections of twins.values()) {
      const found = together(context, sections);
      if (found) yield found;
    }
  },
};

function held(context: RuleContext, section: Section, bound: Rated): Finding | undefined {
  const key = `${section.key}.plate`;
  const where = whereOf(bound.block);
  const still = stillOf(context, section, bound);
  const driven = drivenWatts(context.analysis, key, where, averageOf(section, bound));
  if (!still && !driven) return undefined;
  const underDrive = driven !== undefined && driven.value > 1.01 * (still?.value ?? 0);
  const value = Math.max(still?.value ?? 0, driven?.value ?? 0);
  const kept = practice(context, "valve");
  return limit(context, plateDissipation, {
    on: [section.valve.reference, key],
    place: electrodePlace(section, "plate"),
    value,
    limit: bound.value,
    unit: "W",
    margin: kept.margin < 1 ? kept.margin : undefined,
    marginSource: kept.marginSource,
    state: underDrive ? drivenState(driven).state : still?.state,
    mains: underDrive ? driven.mains : still?.mains,
    source: sourceOf(section.facts, bound.block),
    words: () => {
      const bias = biasOf(context.circuit, context.analysis, section);
      const remedy = underDrive ? undefined : coolerBias(context, section, value / bound.value);
      const past = value > bound.value * (1 + 1e-9);
      return {
        says: `${section.key}'s plate dissipates`,
        limitIs: bound.words,
        stateWords: underDrive ? drivenState(driven).stateWords : undefined,
        note:
          underDrive && still && drivenState(driven).state === "drive"
            ? `${quantity(still.value, "W")} ${when(still.state)}`
            : undefined,
        estimate: still?.estimate,
        todo:
          remedy?.todo ??
          (past && !underDrive ? colder(context, section, bound) : undefined) ??
          (bias?.kind === "fixed" ? "More negative bias, or a lower HT." : "More bias, or a lower HT."),
        related: [...causes(context, section), ...estimatedSupplies(context.circuit)],
        fix: remedy?.fix,
      };
    },
  });
}

/** Where idle is as bad as another state but for so much, it is told: the others are the same with something missing. */
const IDLE_SHARE = 0.95;
const IDLE: readonly StateName[] = ["idle"];

/**
 * The worst without a signal. What is heated directly draws from the first moment on, and a little more before the others do; a
 * driver gets a little more while the output valves are out.
 */
function stillOf({ analysis }: RuleContext, section: Section, bound: Rated): Worst | undefined {
  const { reference } = section.valve;
  const key = `${section.key}.plate`;
  const worst = worstRated(analysis, reference, key, "watts", bound);
  if (!worst || worst.state === "idle") return worst;
  const idle = worstRated(analysis, reference, key, "watts", bound, IDLE);
  // Within its limit at idle, it is the other state that passes it.
  const told =
    idle && idle.value > IDLE_SHARE * worst.value && (idle.value > bound.value || worst.value <= bound.value);
  return told ? idle : worst;
}

/** Within its limit as the pots are set, and past it at the hot end of their travel. */
function turned(context: RuleContext, section: Section, bound: Rated): Finding | undefined {
  const { circuit, analysis } = context;
  return atHotEnd(context, plateDissipation, {
    section,
    electrode: "plate",
    reading: "watts",
    bound,
    says: `${section.key}'s plate dissipates`,
    hot: readingAtEnd(
      analysis,
      hottestSettings(circuit, analysis, section),
      `${section.key}.plate`,
      "watts",
      bound,
    ),
  });
}

/** What turning the bias the cold way can do about a plate that is too hot. */
function colder(context: RuleContext, section: Section, bound: Rated): string | undefined {
  const { circuit, analysis } = context;
  const end = coolestSettings(circuit, analysis, section);
  const cold = readingAtEnd(analysis, end, `${section.key}.plate`, "watts", bound);
  if (!cold) return undefined;
  const names = listed(cold.pots.map((pot) => pot.reference));
  return cold.value > bound.value
    ? `No setting of ${names} brings it within: at the cold end it is still ${quantity(cold.value, "W")}. ${lostBias(context, section) ?? "More negative volts from the bias supply."}`
    : `Turn ${names} the cold way: at the end of the travel it is ${quantity(cold.value, "W")}.`;
}

/** Two sections share a bulb: some sheets limit the sum. */
function together(context: RuleContext, sections: readonly Section[]): Finding | undefined {
  if (sections.length < 2) return undefined;
  const [first] = sections;
  const bound = rated(first, "plateWattsBothSections") ?? ofTheBottle(first);
  if (!bound) return undefined;
  const parts = sections.map((section) =>
    worstRated(context.analysis, section.valve.reference, `${section.key}.plate`, "watts", {
      value: 0,
      block: bound.block,
    }),
  );
  if (parts.some((part) => !part)) return undefined;
  const value = parts.reduce((sum, part) => sum + (part?.value ?? 0), 0);
  return limit(context, plateDissipation, {
    on: first.valve.reference,
    place: first.valve.referencePlace,
    value,
    limit: bound.value,
    unit: "W",
    state: parts[0]?.state,
    mains: parts[0]?.mains,
    source: sourceOf(first.facts, bound.block),
    words: () => ({
      says: `${first.valve.reference}'s plates together dissipate`,
      limitIs: `${bound.words} for both sections`,
    }),
  });
}

/** Sections that differ have limits of their own, and what they share stands with the valve. */
function ofTheBottle({ facts }: Section): Rated | undefined {
  const value = facts?.limits.plateWattsBothSections;
  if (!facts || value === undefined) return undefined;
  return { value, block: facts.limits, words: `${systemWords(facts.limits)} limit` };
}

function causes(context: RuleContext, section: Section): (Related | undefined)[] {
  const bias = biasOf(context.circuit, context.analysis, section);
  const setting = bias?.setters.slice(0, 3) ?? [];
  return setting.map((part) => relatedPart(part, `${part.reference} sets the bias`));
}

/** A cathode resistor that brings a class A stage down to nine tenths of its limit. */
function coolerBias(
  context: RuleContext,
  section: Section,
  ratio: number,
): { todo: string; fix?: Fix } | undefined {
  const bias = biasOf(context.circuit, context.analysis, section);
  if (bias?.setters.length !== 1 || ratio <= 1) return undefined;
  const [part] = bias.setters;
  // In a cathode's lead, or in the supply's return: either rises with the current. A divider's resistor does not.
  const amps = (key: string) =>
    Math.abs(context.analysis.solution("idle", "nominal")?.readings.get(key)?.amps ?? 0);
  if (part.kind !== "resistor") return undefined;
  if (bias.kind !== "cathode" && amps(part.reference) < amps(`${section.key}.plate`)) return undefined;
  // Grid volts grow nearly as the resistor, the current falls with their three-halves power: the resistor must grow
  // faster than the current falls. The trial of the fix tells whether it was enough.
  const target = ohmsUp(part.ohms.value * (ratio / 0.9) ** 2);
  const place = part.factPlaces.get("ohms");
  return {
    todo: `${part.reference} of ${writeOhms(target)} instead of ${writeOhms(part.ohms.value)} brings it to 90 % or less.`,
    fix: place && {
      title: `Make ${part.reference} ${writeOhms(target)}`,
      edits: [{ place, text: writeOhms(target) }],
    },
  };
}
