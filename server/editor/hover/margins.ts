/** How hard a part works: the worst case of each of its limits. */
import type { CheckResult } from "../../check.ts";
import { limitName } from "../../rules/frame/limit.ts";
import { metered, type QuantityUnit } from "../../rules/frame/quantity.ts";
import type { Margin } from "../../rules/rule.ts";
import { bar, STATE_NAMES, shareText, table } from "../numbers.ts";

/**
 * The worst case of each limit as a table, most strained first, and the sources of the limits as a list.
 * @param row a winding or section: its own limits alone, where it has any
 */
export function margins(
  result: CheckResult,
  reference: string,
  row?: string,
): { readonly table: string; readonly sources: string } {
  const whole = result.margins.filter(({ on }) => on === reference || on.startsWith(`${reference}.`));
  const own = row === undefined ? [] : whole.filter(({ on }) => `${on}.`.startsWith(`${reference}.${row}.`));
  const worst = new Map<string, Margin>();
  for (const margin of own.length > 0 ? own : whole) {
    const key = `${margin.rule} ${margin.on}`;
    const known = worst.get(key);
    if (known === undefined || strain(margin) > strain(known)) worst.set(key, margin);
  }
  const sorted = [...worst.values()].sort((one, other) => strain(other) - strain(one));
  if (sorted.length === 0) return { table: "", sources: "" };
  const named = (margin: Margin) => {
    const limit = limitName(margin.rule);
    const of = margin.on.slice(reference.length + 1);
    return of === "" || of === row ? limit : `${limit}, ${of}`;
  };
  const rows = sorted.map((margin) => {
    const unit = margin.unit as QuantityUnit;
    const when = [margin.state && STATE_NAMES[margin.state], margin.mains && `${margin.mains} mains`];
    return [
      named(margin),
      metered(margin.value, unit),
      when.filter(Boolean).join(", ") || "any",
      `${margin.breach === "below" ? "at least " : ""}${metered(margin.limit, unit)}`,
      `${bar(strain(margin))} ${shareText(strain(margin))}${strain(margin) > 1 ? " **over**" : ""}`,
    ];
  });
  const limitsOf = new Map<string, Set<string>>();
  for (const margin of sorted) {
    const limits = limitsOf.get(margin.source) ?? new Set();
    limitsOf.set(margin.source, limits.add(named(margin)));
  }
  const sources = [...limitsOf].map(([source, limits]) =>
    limitsOf.size === 1 ? `Source: ${source}` : `- ${[...limits].join("; ")}: ${source}`,
  );
  return {
    table: table(["limit", "worst case", "when", "allowed", "used"], rows),
    sources: limitsOf.size === 1 ? sources[0] : `Sources:\n${sources.join("\n")}`,
  };
}

function strain(margin: Margin): number {
  if (margin.breach === "below")
    return margin.value === 0 ? Number.POSITIVE_INFINITY : margin.limit / margin.value;
  return margin.limit === 0 ? Number.POSITIVE_INFINITY : margin.value / margin.limit;
}
