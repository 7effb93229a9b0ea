/** A part: what it is, how hard it works against each of its limits, and what could not be checked. */
import type { CheckResult } from "../../check.ts";
import type { Part } from "../../circuit/model.ts";
import { HAZARD_VOLTS, HIGH_VOLTAGE_CAUTION, MAINS_CAUTION, UNKNOWN_VOLTAGE_CAUTION } from "../cautions.ts";
import { describeFacts } from "../describe.ts";
import { margins } from "./margins.ts";
import { readings } from "./readings.ts";
import { electrodes, operatingPoint } from "./valve.ts";

/** @param row a winding's or section's name, to show that alone */
export function hoverPart(result: CheckResult, part: Part, row?: string): string {
  const title = row ? `${part.reference}.${row}` : part.reference;
  const facts = describeFacts(part);
  const { table, sources } = margins(result, part.reference, row);
  // What a glance must catch stands first: a hover shows some ten lines before it scrolls.
  const sections = [
    `**${title}** · ${part.kind}${facts ? ` · ${facts}` : ""}`,
    caution(result, part),
    part.kind === "valve" ? operatingPoint(result, part, row) : "",
    table,
    unchecked(result, part.reference),
    part.kind === "valve" ? electrodes(result, part, row) : readings(result, part.reference, row),
    estimates(result, part.reference),
    sources,
  ];
  return sections.filter((section) => section !== "").join("\n\n");
}

function unchecked(result: CheckResult, reference: string): string {
  const missed = result.missed.filter(({ on }) => on === reference);
  const reasons = new Set(missed.map(({ because }) => because));
  return [...reasons]
    .map((reason) => {
      const what = missed.filter(({ because }) => because === reason).map((one) => one.what);
      return `**Not checked**, ${reason === undefined ? "for want of data" : `because ${reason}`}: ${what.join("; ")}.`;
    })
    .join("\n\n");
}

function estimates(result: CheckResult, reference: string): string {
  const solution = result.analysis.solution("idle", "nominal");
  const own = solution?.estimates.filter((sentence) => sentence.includes(reference)) ?? [];
  return own.length === 0 ? "" : `Rests on an estimate: ${own.join("; ")}`;
}

const MAINS_KINDS = new Set(["cord", "inlet", "fuse", "bond"]);

function caution(result: CheckResult, part: Part): string {
  if (MAINS_KINDS.has(part.kind) || (part.kind === "switch" && part.duty === "mains")) return MAINS_CAUTION;
  const unknown = result.analysis.states.some((state) => {
    const unsolved = result.analysis.solution(state, "high")?.unsolved;
    return unsolved && [...part.terminals.values()].some((net) => unsolved.nets.has(net));
  });
  if (unknown) return UNKNOWN_VOLTAGE_CAUTION;
  const highest = Math.max(
    0,
    ...result.analysis.states.flatMap((state) => {
      const solution = result.analysis.solution(state, "high");
      return solution ? [...part.terminals.values()].map((net) => Math.abs(solution.peak[net]) || 0) : [];
    }),
  );
  return highest >= HAZARD_VOLTS ? HIGH_VOLTAGE_CAUTION : "";
}
