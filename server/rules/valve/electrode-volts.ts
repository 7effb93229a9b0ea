/** Plate and screen volts, held to their cathode: warm against the limit, without current against the sheet's cold one. */
import type { NetIndex } from "../../circuit/model.ts";
import { triodeStrap } from "../../facts/practice.ts";
import type { StateName } from "../../physics/results.ts";
import { ends, limit, partsOn, relatedNet, type Worst } from "../frame/index.ts";
import type { Finding, Rule, RuleContext } from "../rule.ts";
import { estimatedSupplies } from "../shared/estimates.ts";
import { netsWith, sameNode } from "../shared/nodes.ts";
import {
  blocksOf,
  electrodePlace,
  noLimit,
  type Rated,
  rated,
  type Section,
  sourceOf,
  systemWords,
} from "../shared/sections.ts";
import { worstRated } from "../shared/worst-near.ts";

/** Below this share of a microampere-scale plate current the valve is as good as cold for its sheet's `Va0`. */
const CUT_OFF_AMPS = 1e-6;

export function* electrodeVolts(
  context: RuleContext,
  rule: Rule,
  section: Section,
  electrode: "plate" | "screen",
): Generator<Finding> {
  const place = electrodePlace(section, electrode);
  const words = `${electrode} volts`;
  const strapped = isStrapped(context, section);
  const warmBound =
    (strapped && rated(section, "plateScreenTiedVolts")) ||
    rated(section, electrode === "plate" ? "plateVolts" : "screenVolts");
  const coldBound = rated(section, electrode === "plate" ? "plateColdVolts" : "screenColdVolts");
  const key = `${section.key}.${electrode}`;
  if (!warmBound) {
    context.unchecked(section.valve.reference, `${words} (${noLimit(section)})`, place);
  } else {
    const most = drawing(context, section, key, warmBound);
    if (most) {
      const found = held(context, rule, section, electrode, most, warmBound, strapped);
      if (found) return yield found;
    }
  }
  const cold = withoutCurrent(context, section, key, coldBound ?? warmBound);
  if (!cold) return;
  const size = Math.abs(cold.value);
  if (coldBound) {
    const found = held(context, rule, section, electrode, cold, coldBound, false, "without current");
    if (found) yield found;
  } else if (!warmBound || size > warmBound.value) {
    context.unchecked(
      section.valve.reference,
      `${words} ${cold.state === "cold" ? "in cold start" : "without current"} (the sheet prints no such limit)`,
      place,
    );
  } else context.checked(section.valve.reference);
}

const WARM: readonly (readonly StateName[])[] = [["standby"], ["idle"], ["drive"], ["pulled"]];
const ALL: readonly (readonly StateName[])[] = [["cold"], ...WARM];

/** Worst over the states in which the valve draws current. */
export function drawing(
  context: RuleContext,
  section: Section,
  key: string,
  bound: Pick<Rated, "value" | "block">,
): Worst | undefined {
  let found: Worst | undefined;
  for (const state of WARM) {
    const most = worstRated(context.analysis, section.valve.reference, key, "volts", bound, state);
    if (!most || (found && most.value <= found.value) || !draws(most, section)) continue;
    found = most;
  }
  return found;
}

function withoutCurrent(
  context: RuleContext,
  section: Section,
  key: string,
  bound: Rated | undefined,
): Worst | undefined {
  const block = bound?.block ?? blocksOf(section)[0];
  if (!block) return undefined;
  let found: Worst | undefined;
  for (const state of ALL) {
    const most = worstRated(
      context.analysis,
      section.valve.reference,
      key,
      "volts",
      bound ?? { value: 0, block },
      state,
    );
    if (!most || (found && most.value <= found.value) || draws(most, section)) continue;
    found = most;
  }
  return found;
}

function draws(most: Worst, section: Section): boolean {
  const amps = most.solution.readings.get(`${section.key}.cathode`)?.amps ?? 0;
  return Math.abs(amps) > CUT_OFF_AMPS;
}

function held(
  context: RuleContext,
  rule: Rule,
  section: Section,
  electrode: "plate" | "screen",
  most: Worst,
  bound: Rated,
  strapped: boolean,
  manner?: string,
): Finding | undefined {
  const net = section[electrode];
  return limit(context, rule, {
    on: [section.valve.reference, `${section.key}.${electrode}`],
    place: electrodePlace(section, electrode),
    value: most.value,
    limit: bound.value,
    unit: "V",
    state: most.state,
    mains: most.mains,
    source: sourceOf(section.facts, bound.block),
    words: () => ({
      says: `${section.key}'s ${electrode} has`,
      limitIs:
        manner !== undefined
          ? `${systemWords(bound.block)} limit ${manner}`
          : strapped
            ? `${bound.words}, plate and screen tied,`
            : bound.words,
      note: "to its cathode",
      estimate: most.estimate,
      todo:
        electrode === "screen"
          ? "A resistor or a choke between the plates' supply and the screens, or a lower HT."
          : "A lower HT winding, or a valve that is rated for it.",
      related: [
        relatedNet(context.circuit, net, `the ${electrode}'s net`),
        ...estimatedSupplies(context.circuit),
      ],
    }),
  });
}

/** Screen and plate on one net, or joined by a small resistor. */
export function isStrapped(context: RuleContext, section: Section): boolean {
  const { plate, screen } = section;
  if (plate === undefined || screen === undefined) return false;
  if (sameNode(context.circuit, plate, screen)) return true;
  const onScreen = (net: NetIndex) => sameNode(context.circuit, net, screen);
  return netsWith(context.circuit, screen).some((own) =>
    partsOn(context.circuit, own).some((part) => {
      if (part.kind !== "resistor" || !(part.ohms.value <= triodeStrap.mostOhms)) return false;
      const both = ends(part);
      if (!both) return false;
      const far = onScreen(both[0]) ? both[1] : both[0];
      return sameNode(context.circuit, far, plate);
    }),
  );
}
