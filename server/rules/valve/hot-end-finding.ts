/** What is told of a limit that holds as the bias pots are set, and not at the hot end of their travel. */
import type { ReadingName } from "../../physics/results.ts";
import { finding, listed, percent, quantity, relatedPart, when } from "../frame/index.ts";
import type { Finding, Rule, RuleContext } from "../rule.ts";
import { electrodePlace, type Rated, type Section, sourceOf } from "../shared/sections.ts";
import type { Turned } from "./hot-end.ts";

export interface HotEnd {
  readonly section: Section;
  readonly electrode: string;
  readonly reading: ReadingName;
  readonly bound: Rated;
  /** Subject and verb: "V3's plate dissipates". */
  readonly says: string;
  readonly hot: Turned | undefined;
}

export function atHotEnd(
  context: RuleContext,
  rule: Rule,
  { section, electrode, reading, bound, says, hot }: HotEnd,
): Finding | undefined {
  if (!hot) return undefined;
  context.checked(section.valve.reference);
  if (!(hot.value > bound.value * (1 + 1e-9))) return undefined;
  const names = listed(hot.pots.map((pot) => pot.reference));
  const unit = reading === "amps" ? "A" : "W";
  return finding(rule, {
    severity: "advice",
    message:
      `${says} ${quantity(hot.value, unit)} ${when("idle", hot.mains)} with ${names} turned to the hot end; ` +
      `${bound.words} ${quantity(bound.value, unit)}, over by ${percent(hot.value / bound.value - 1)}. A resistor at that end of the ` +
      "travel, chosen so that no setting passes the limit.",
    on: [section.valve.reference, `${section.key}.${electrode}`, ...hot.pots.map((pot) => pot.reference)],
    place: electrodePlace(section, electrode),
    state: "idle",
    mains: hot.mains,
    value: hot.value,
    limit: bound.value,
    unit,
    related: hot.pots.map((pot) => relatedPart(pot, `${pot.reference} sets the bias`)),
    source: sourceOf(section.facts, bound.block),
  });
}
