/** A fuse at full drive: past its rating it ages, past what it holds for an hour it blows. */
import type { Fuse } from "../../circuit/model.ts";
import { fuseFigures } from "../../facts/mains.ts";
import { factPlace, limit, quantity } from "../frame/index.ts";
import type { Finding, Rule, RuleContext } from "../rule.ts";

export interface Driven {
  readonly on: Finding["on"];
  /** At full drive, and at idle. */
  readonly amps: number;
  readonly idleAmps: number;
  /** What suits, in a sentence; undefined where no standard value does. */
  readonly todo: string | undefined;
  readonly related: readonly (Finding["related"][number] | undefined)[] | undefined;
  readonly fix: Finding["fix"];
}

export function drivenFuse(
  context: RuleContext,
  rule: Rule,
  fuse: Fuse,
  { on, amps, idleAmps, todo, related, fix }: Driven,
): Finding | undefined {
  const gate = fuse.character ? fuseFigures.gate : fuseFigures.gateAmerican;
  const blows = amps > gate.value * fuse.amps.value;
  return limit(context, rule, {
    on,
    place: factPlace(fuse, "amps"),
    severity: blows ? "error" : "warning",
    value: amps,
    limit: fuse.amps.value,
    unit: "A",
    state: "drive",
    mains: "nominal",
    source: gate.source,
    words: () => ({
      says: `${fuse.reference} carries`,
      note: `sine at full drive; ${quantity(idleAmps, "A")} at idle`,
      todo: `${blows ? "It blows when the amplifier is played hard." : "It ages, and blows one evening."} ${todo ?? ""}`.trimEnd(),
      related,
      fix,
    }),
  });
}
