import type { MainsLevel, Pot } from "../../circuit/model.ts";
import type { Analysis } from "../../physics/results.ts";
import { finding, LEVELS, limit, listed, percent, quantity, relatedPart, when } from "../frame/index.ts";
import type { Finding, Fix, Related, Rule, RuleContext } from "../rule.ts";
import { alike } from "../shared/alike.ts";
import { estimatedSupplies } from "../shared/estimates.ts";
import { practice } from "../shared/margin.ts";
import {
  amplifying,
  electrodePlace,
  type Rated,
  rated,
  type Section,
  sourceOf,
  whereOf,
} from "../shared/sections.ts";
import { ohmsUp, writeOhms } from "../shared/values.ts";
import { averageOf, worstRated } from "../shared/worst-near.ts";
import { biasOf } from "./bias.ts";
import { drivenState, drivenWatts } from "./driven.ts";

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
          "plate dissipation (no limit is published)",
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
  const still = worstRated(context.analysis, section.valve.reference, key, "watts", bound);
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

interface Turned {
  readonly watts: number;
  readonly mains: MainsLevel;
}

/** Plate watts at idle with pots set otherwise, at the worst mains that the limit is held at; nominal parts. */
function wattsAt(analysis: Analysis, key: string, levels: readonly MainsLevel[]): Turned | undefined {
  let most: Turned | undefined;
  for (const mains of levels) {
    const solution = analysis.solution("idle", mains);
    const watts = solution?.solved ? solution.readings.get(key)?.watts : undefined;
    if (watts !== undefined && (!most || watts > most.watts)) most = { watts, mains };
  }
  return most;
}

/** True where the plate is hotter with the wiper at the top; undefined where that is not known. */
function hotterUp(
  analysis: Analysis,
  pot: Pot,
  at: (share: number) => Turned | undefined,
): boolean | undefined {
  const [top, wiper, bottom] = ["top", "wiper", "bottom"].map((name) => pot.terminals.get(name));
  const volts = analysis.solution("idle", "nominal")?.volts;
  // A divider's wiper takes the volts of the end that it comes to: no need to solve for both.
  if (volts && top !== undefined && bottom !== undefined && wiper !== top && wiper !== bottom) {
    if (Math.abs(volts[top] - volts[bottom]) > 0.1) return volts[top] > volts[bottom];
  }
  const [low, high] = [at(0)?.watts, at(1)?.watts];
  return low === undefined || high === undefined ? undefined : high > low;
}

/** The pots of a fixed bias, each turned to the end that makes the plate hottest (or coolest). */
function atEnd(
  context: RuleContext,
  section: Section,
  bound: Rated,
  end: "hottest" | "coolest",
): (Turned & { readonly pots: readonly Pot[] }) | undefined {
  const { analysis, circuit } = context;
  const bias = biasOf(circuit, analysis, section);
  if (bias?.kind !== "fixed") return undefined;
  const pots = bias.setters.filter((part): part is Pot => part.kind === "pot");
  if (pots.length === 0) return undefined;
  const levels = whereOf(bound.block).levels ?? LEVELS;
  const key = `${section.key}.plate`;
  const settings = new Map<string, number>();
  for (const pot of pots) {
    const up = hotterUp(analysis, pot, (share) =>
      wattsAt(analysis.atSettings(new Map([[pot.reference, share]])), key, levels),
    );
    if (up === undefined) return undefined;
    settings.set(pot.reference, up === (end === "hottest") ? 1 : 0);
  }
  const found = wattsAt(analysis.atSettings(settings), key, levels);
  return found && { ...found, pots };
}

/** Within its limit as the pots are set, and past it at the hot end of their travel. */
function turned(context: RuleContext, section: Section, bound: Rated): Finding | undefined {
  const hot = atEnd(context, section, bound, "hottest");
  if (!hot) return undefined;
  context.checked(section.valve.reference);
  if (!(hot.watts > bound.value * (1 + 1e-9))) return undefined;
  const names = listed(hot.pots.map((pot) => pot.reference));
  return finding(plateDissipation, {
    severity: "advice",
    message:
      `${section.key}'s plate dissipates ${quantity(hot.watts, "W")} ${when("idle", hot.mains)} with ${names} turned to the hot end; ` +
      `${bound.words} ${quantity(bound.value, "W")}, over by ${percent(hot.watts / bound.value - 1)}. A resistor at that end of the ` +
      "travel, chosen so that no setting passes the limit.",
    on: [section.valve.reference, `${section.key}.plate`, ...hot.pots.map((pot) => pot.reference)],
    place: electrodePlace(section, "plate"),
    state: "idle",
    mains: hot.mains,
    value: hot.watts,
    limit: bound.value,
    unit: "W",
    related: hot.pots.map((pot) => relatedPart(pot, `${pot.reference} sets the bias`)),
    source: sourceOf(section.facts, bound.block),
  });
}

/** What turning the bias the cold way can do about a plate that is too hot. */
function colder(context: RuleContext, section: Section, bound: Rated): string | undefined {
  const cold = atEnd(context, section, bound, "coolest");
  if (!cold) return undefined;
  const names = listed(cold.pots.map((pot) => pot.reference));
  return cold.watts > bound.value
    ? `No setting of ${names} brings it within: at the cold end it is still ${quantity(cold.watts, "W")}. More negative volts from the bias supply.`
    : `Turn ${names} the cold way: at the end of the travel it is ${quantity(cold.watts, "W")}.`;
}

/** Both sections of a twin share a bulb: some sheets limit the sum. */
function together(context: RuleContext, sections: readonly Section[]): Finding | undefined {
  if (sections.length < 2) return undefined;
  const [first] = sections;
  const bound = rated(first, "plateWattsBothSections");
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
    todo: `${part.reference} of ${writeOhms(target)} instead of ${writeOhms(part.ohms.value)} brings it to about 90 %.`,
    fix: place && {
      title: `Make ${part.reference} ${writeOhms(target)}`,
      edits: [{ place, text: writeOhms(target) }],
    },
  };
}
