/** Where a bias supply has volts enough and little of them comes to the grid: the resistor that they are lost in. */
import type { Resistor } from "../../circuit/model.ts";
import { biasDropper } from "../../facts/practice.ts";
import { ends, quantity } from "../frame/index.ts";
import type { RuleContext } from "../rule.ts";
import type { Section } from "../shared/sections.ts";
import { biasOf } from "./bias.ts";

/** @returns what is to be done about it; undefined where no one resistor takes most of the supply's volts at idle */
export function lostBias({ circuit, analysis }: RuleContext, section: Section): string | undefined {
  const idle = analysis.solution("idle", "nominal");
  const parts = biasOf(circuit, analysis, section)?.parts ?? [];
  if (!idle?.solved) return undefined;
  let most: { readonly part: Resistor; readonly drop: number; readonly supply: number } | undefined;
  for (const part of parts) {
    if (part.kind !== "resistor") continue;
    const volts = (ends(part) ?? []).map((net) => idle.volts[net]);
    const supply = -Math.min(...volts);
    const drop = Math.abs(volts[0] - volts[1]);
    // Its other end is nearer to common, and still negative: it stands ahead of the grid, not across the supply.
    if (!(drop > (most?.drop ?? 0)) || Math.max(...volts) >= 0) continue;
    most = { part, drop, supply };
  }
  if (!most || most.drop < biasDropper.mostShare * most.supply) return undefined;
  const { part, drop, supply } = most;
  return (
    `The bias supply has ${quantity(-supply, "V")}, of which ${part.reference} of ${quantity(part.ohms.value, "Ω")} takes ${quantity(drop, "V")}: ` +
    "look at its decade."
  );
}
