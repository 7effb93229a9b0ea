/** An output transformer's primary that is far from every load that its valves' sheets work into: a decade's slip, or another's part. */
import type { OutputTransformer } from "../../circuit/model.ts";
import { primaryRatio } from "../../facts/practice.ts";
import { finding, quantity, relatedPart } from "../frame/index.ts";
import type { Finding, Rule, RuleContext } from "../rule.ts";
import type { Section } from "../shared/sections.ts";
import { outputSections } from "../valve/output.ts";

/** @param rule in whose name it is told */
export function primaryLoad(
  context: RuleContext,
  rule: Rule,
  transformer: OutputTransformer,
): Finding | undefined {
  const { plates } = transformer;
  const valves = outputSections(context.circuit).filter((entry) => entry.transformer === transformer);
  const [first] = valves;
  if (!plates || !first) return undefined;
  const { section, pushPull } = first;
  const loads = publishedLoads(section, pushPull ? "push-pull" : "single-ended");
  // A sheet's row is of a pair or of one valve; more of them in parallel ask for so much less.
  const parallel = pushPull ? valves.length / 2 : valves.length;
  if (loads.length === 0 || parallel < 1) return undefined;
  const [least, most] = [Math.min(...loads) / parallel, Math.max(...loads) / parallel];
  const ohms = plates.ohms.value;
  context.checked(transformer.reference);
  if (ohms >= (least / primaryRatio.factor) * (1 - 1e-9) && ohms <= most * primaryRatio.factor * (1 + 1e-9))
    return undefined;
  const low = ohms < least;
  const asked =
    most - least < 1e-6 * most ? quantity(least, "Ω") : `${quantity(least, "Ω")} to ${quantity(most, "Ω")}`;
  const seen = pushPull ? " plate to plate" : "";
  const times = low ? least / ohms : ohms / most;
  return finding(rule, {
    severity: "advice",
    message:
      `${transformer.reference}'s primary is of ${quantity(ohms, "Ω")}${seen}, ${times.toFixed(1)} times ${low ? "less" : "more"} than ${parallel > 1 ? `${parallel} in parallel of ` : ""}${section.facts?.type} ` +
      `${parallel > 1 ? "call" : "calls"} for: the sheet's own operations come to ${asked}. ${low ? "The valves run into their current, and give little" : "The plates run out of volts, and give little"}: ` +
      "look for a slip of a decade, or for another's transformer.",
    on: [transformer.reference, ...valves.map((entry) => entry.section.valve.reference)],
    place: plates.place,
    value: ohms,
    limit: low ? least / primaryRatio.factor : most * primaryRatio.factor,
    unit: "Ω",
    related: valves.map((entry) => relatedPart(entry.section.valve, `${entry.section.key} works into it`)),
  });
}

/** Loads of the sheet's own rows of that mode: of one valve single-ended, plate to plate of a pair. */
function publishedLoads(section: Section, mode: "push-pull" | "single-ended"): readonly number[] {
  const number = 1 + (section.facts?.sections.findIndex(({ name }) => name === section.section.name) ?? 0);
  return (section.facts?.points ?? []).flatMap((point) =>
    point.mode === mode &&
    point.load_ohm !== undefined &&
    (point.section === undefined || point.section === number)
      ? [point.load_ohm]
      : [],
  );
}
