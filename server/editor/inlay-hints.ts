/** Volts beside nets, for the state and mains level chosen. */
import type { InlayHint, Range as LspRange } from "vscode-languageserver-types";
import type { MainsLevel } from "../circuit/model.ts";
import type { StateName } from "../physics/results.ts";
import { type CheckedDocument, occurrencesBetween, toOffset, toRange } from "./document.ts";
import { bandText, netVolts, STATE_NAMES } from "./numbers.ts";
import { resolveNet } from "./resolve.ts";

export interface HintOptions {
  readonly state: StateName;
  readonly level: MainsLevel;
  /** `all`: at every mention; `line`: at a net's first mention of each line; `off`: none. */
  readonly show: "all" | "line" | "off";
}

/** Nets that stand at circuit common or carry no settled volts get none. */
export function inlayHints(document: CheckedDocument, range: LspRange, options: HintOptions): InlayHint[] {
  if (options.show === "off") return [];
  const { circuit, analysis } = document.result;
  const solution =
    analysis.solution(options.state, options.level) ?? analysis.solution("idle", options.level);
  if (solution === undefined) return [];
  const from = toOffset(document, range.start);
  const to = toOffset(document, range.end);
  const hints: InlayHint[] = [];
  const shown = new Set<string>();
  for (const occurrence of occurrencesBetween(document, from, to)) {
    if (occurrence.role !== "net" || occurrence.range.end < from || occurrence.range.start > to) continue;
    const net = resolveNet(circuit, occurrence);
    if (net === undefined || net === circuit.ground) continue;
    const label = netVolts(solution, net);
    if (label === undefined) continue;
    const position = toRange(document, occurrence.range).end;
    if (options.show === "line" && shown.has(`${position.line} ${net}`)) continue;
    shown.add(`${position.line} ${net}`);
    hints.push({
      position,
      label,
      paddingLeft: true,
      tooltip: {
        kind: "markdown",
        value: `**${circuit.nets[net].name}** at ${STATE_NAMES[solution.state]}, ${solution.level} mains: ${label.endsWith(" ac") ? label : bandText(solution.netBand(net), "V")}`,
      },
    });
  }
  return hints;
}
