/** A part: what it is, how hard it works against each of its limits, and what could not be checked. */

import type { CheckResult } from "../../check.ts";
import type { Part } from "../../circuit/model.ts";
import { bookOf } from "../../facts/valves/book.ts";
import { type QuantityUnit, quantity } from "../../rules/frame/quantity.ts";
import type { Margin } from "../../rules/rule.ts";
import { HAZARD_VOLTS, HIGH_VOLTAGE_CAUTION, MAINS_CAUTION } from "../cautions.ts";
import { describeFacts } from "../describe.ts";
import { bandText, bar, STATE_NAMES, shareText, table, UNIT_OF_READING } from "../numbers.ts";

const READING_WORDS: Readonly<Record<string, string>> = {
  volts: "volts",
  amps: "current",
  rms: "rms current",
  peak: "peak current",
  inverse: "inverse volts",
  watts: "dissipation",
  rmsVolts: "rms volts",
  peakVolts: "peak volts",
  voltAmperes: "volt-amperes",
  ripple: "ripple p-p",
  surge: "hot-switching peak",
};

/** @param row a winding's or section's name, to show that alone */
export function hoverPart(result: CheckResult, part: Part, row?: string): string {
  const title = row ? `${part.reference}.${row}` : part.reference;
  const sections = [
    `**${title}** · ${part.kind}${describeFacts(part) ? ` · ${describeFacts(part)}` : ""}`,
    part.kind === "valve" && !row ? pins(result, part) : "",
    readings(result, part.reference, row),
    margins(result, part.reference),
    unchecked(result, part.reference),
    estimates(result, part.reference),
    caution(result, part),
  ];
  return sections.filter((section) => section !== "").join("\n\n");
}

/** Quantities at idle and nominal mains, with their bands. */
function readings(result: CheckResult, reference: string, row: string | undefined): string {
  const solution = result.analysis.solution("idle", "nominal");
  if (!solution) return "";
  const prefix = row ? `${reference}.${row}` : reference;
  const rows: string[][] = [];
  for (const [key, values] of solution.readings) {
    if (key !== prefix && !key.startsWith(`${prefix}.`)) continue;
    for (const [name, value] of Object.entries(values)) {
      if (value === undefined || !Number.isFinite(value)) continue;
      const band = solution.band(key, name as keyof typeof values) ?? {
        nominal: value,
        low: value,
        high: value,
      };
      rows.push([key, READING_WORDS[name] ?? name, bandText(band, UNIT_OF_READING[name] ?? "V")]);
    }
  }
  return rows.length === 0
    ? ""
    : `At idle, nominal mains:\n\n${table(["where", "quantity", "value (band)"], rows)}`;
}

/** The worst case of each limit, most strained first. */
function margins(result: CheckResult, reference: string): string {
  const worst = new Map<string, Margin>();
  for (const margin of result.margins) {
    if (margin.on !== reference && !margin.on.startsWith(`${reference}.`)) continue;
    const key = `${margin.rule} ${margin.on}`;
    const known = worst.get(key);
    if (known === undefined || strain(margin) > strain(known)) worst.set(key, margin);
  }
  const rows = [...worst.values()]
    .sort((one, other) => strain(other) - strain(one))
    .map((margin) => {
      const unit = margin.unit as QuantityUnit;
      const condition = [margin.state && STATE_NAMES[margin.state], margin.mains && `${margin.mains} mains`];
      return [
        margin.rule.slice(margin.rule.indexOf("/") + 1).replaceAll("-", " "),
        quantity(margin.value, unit),
        condition.filter(Boolean).join(", ") || "any",
        `${margin.breach === "below" ? "at least " : ""}${quantity(margin.limit, unit)}`,
        `${shareText(strain(margin))} ${bar(strain(margin))}`,
        margin.source,
      ];
    });
  return rows.length === 0
    ? ""
    : `Worst case of each limit:\n\n${table(["limit", "worst", "when", "allowed", "used", "source"], rows)}`;
}

function strain(margin: Margin): number {
  if (margin.breach === "below")
    return margin.value === 0 ? Number.POSITIVE_INFINITY : margin.limit / margin.value;
  return margin.limit === 0 ? Number.POSITIVE_INFINITY : margin.value / margin.limit;
}

function unchecked(result: CheckResult, reference: string): string {
  const missed = result.missed.filter(({ on }) => on === reference).map(({ what }) => what);
  return missed.length === 0 ? "" : `Not checked, for want of data: ${missed.join("; ")}.`;
}

function estimates(result: CheckResult, reference: string): string {
  const solution = result.analysis.solution("idle", "nominal");
  const own = solution?.estimates.filter((sentence) => sentence.includes(reference)) ?? [];
  return own.length === 0 ? "" : `Rests on an estimate: ${own.join("; ")}`;
}

/** Pins with the volts that a meter shows from circuit common. */
function pins(result: CheckResult, part: Part & { kind: "valve" }): string {
  const valve = part.type === undefined ? undefined : bookOf(result.circuit).find(part.type);
  const solution = result.analysis.solution("idle", "nominal");
  if (!valve || !solution) return "";
  const rows: string[][] = [];
  for (const section of part.sections) {
    for (const [electrode, net] of section.electrodes) {
      const volts = solution.volts[net];
      rows.push([
        section.name === "" ? electrode : `${section.name} ${electrode}`,
        result.circuit.nets[net].name,
        Number.isFinite(volts) ? quantity(volts, "V") : "not fixed",
      ]);
    }
  }
  return rows.length === 0 ? "" : table(["electrode", "net", "volts from common, idle"], rows);
}

const MAINS_KINDS = new Set(["cord", "inlet", "fuse", "bond"]);

function caution(result: CheckResult, part: Part): string {
  if (MAINS_KINDS.has(part.kind) || (part.kind === "switch" && part.duty === "mains")) return MAINS_CAUTION;
  const highest = Math.max(
    0,
    ...result.analysis.states.flatMap((state) => {
      const solution = result.analysis.solution(state, "high");
      return solution ? [...part.terminals.values()].map((net) => Math.abs(solution.peak[net]) || 0) : [];
    }),
  );
  return highest >= HAZARD_VOLTS ? HIGH_VOLTAGE_CAUTION : "";
}
