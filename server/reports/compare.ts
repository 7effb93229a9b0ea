/** What changed between two versions of a netlist: parts, voltages, margins, findings. */
import type { CheckResult } from "../check.ts";
import type { Given, MainsLevel, Part } from "../circuit/model.ts";
import type { StateName } from "../physics/results.ts";
import type { Margin } from "../rules/rule.ts";
import { identity } from "./fingerprint.ts";
import { type ReportFinding, reportOf } from "./report.ts";
import { stands } from "./summary.ts";
import { levels } from "./volts.ts";

export interface PartChange {
  readonly reference: string;
  readonly change: "added" | "removed" | "changed";
  /** Facts and connections that differ, as words; null where there was or is none. */
  readonly facts: readonly {
    readonly name: string;
    readonly old: string | null;
    readonly new: string | null;
  }[];
}

export interface VoltsChange {
  readonly net: string;
  readonly state: StateName;
  readonly mains: MainsLevel;
  /** null where nothing fixes it, or the net isn't there. */
  readonly old: number | null;
  readonly new: number | null;
}

export interface MarginChange {
  readonly on: string;
  readonly rule: string;
  readonly unit: string;
  /** Share of the limit that is used up, worst of all states. */
  readonly old: number | null;
  readonly new: number | null;
}

export interface Comparison {
  readonly old: string;
  readonly new: string;
  readonly parts: readonly PartChange[];
  readonly volts: readonly VoltsChange[];
  readonly margins: readonly MarginChange[];
  readonly findings: {
    readonly appeared: readonly ReportFinding[];
    readonly gone: readonly ReportFinding[];
    readonly stayed: number;
  };
}

/** A net is told when it moves by more than this share of itself, or this many volts where that is more. */
const leastShare = 0.01;
const leastVolts = 0.05;
/** A margin is told when it moves by more than a percent of the limit. */
const leastMargin = 0.01;

export function compare(before: CheckResult, after: CheckResult): Comparison {
  return {
    old: before.file,
    new: after.file,
    parts: partChanges(before, after),
    volts: voltsChanges(before, after),
    margins: marginChanges(before.margins, after.margins),
    findings: findingChanges(before, after),
  };
}

function partChanges(before: CheckResult, after: CheckResult): PartChange[] {
  const old = factsByPart(before);
  const now = factsByPart(after);
  return [...new Set([...old.keys(), ...now.keys()])].flatMap((reference): PartChange[] => {
    const a = old.get(reference);
    const b = now.get(reference);
    const names = [...new Set([...(a?.keys() ?? []), ...(b?.keys() ?? [])])];
    const facts = names
      .map((name) => ({ name, old: a?.get(name) ?? null, new: b?.get(name) ?? null }))
      .filter((fact) => fact.old !== fact.new);
    if (a && b && facts.length === 0) return [];
    return [{ reference, change: !a ? "added" : !b ? "removed" : "changed", facts }];
  });
}

/** Each part's kind, facts and connections as words. What the file doesn't say, and a default fills in, is no fact. */
function factsByPart({ circuit }: CheckResult): Map<string, Map<string, string>> {
  const nameOf = (net: number) => circuit.nets[net]?.name ?? "";
  const parts = new Map<string, Map<string, string>>();
  for (const part of circuit.parts) {
    if (part.unnamed) continue;
    const facts = new Map<string, string>([["kind", part.kind]]);
    for (const [key, value] of Object.entries(part) as [keyof Part, unknown][]) {
      if (
        [
          "kind",
          "reference",
          "place",
          "referencePlace",
          "factPlaces",
          "terminalPlaces",
          "terminals",
        ].includes(key)
      )
        continue;
      words(key, value, facts, nameOf);
    }
    for (const [terminal, net] of part.terminals) facts.set(terminal, nameOf(net));
    parts.set(part.reference, facts);
  }
  return parts;
}

const netKeys = new Set(["net", "common"]);

/** Flattens a fact into words, places left out and nets by their names. */
function words(
  key: string,
  value: unknown,
  into: Map<string, string>,
  nameOf: (net: number) => string,
): void {
  if (value === undefined || value === null) return;
  const last = key.split(".").at(-1) as string;
  if (/[pP]laces?$/.test(last)) return;
  if (isGiven(value)) {
    if (value.origin === "file") into.set(key, String(value.value));
  } else if (value instanceof Map) {
    const holdsNets = ["terminals", "electrodes", "throws"].includes(last);
    for (const [inner, one] of value as Map<string, unknown>)
      if (holdsNets) into.set(`${key}.${inner}`, nameOf(one as number));
      else words(`${key}.${inner}`, one, into, nameOf);
  } else if (Array.isArray(value)) {
    if (last === "nets") into.set(key, value.map((net) => nameOf(net as number)).join(" "));
    else if (value.every((one) => typeof one !== "object")) into.set(key, value.join(" "));
    else
      for (const [index, one] of value.entries())
        words(`${key}.${(one as { name?: string })?.name || index}`, one, into, nameOf);
  } else if (typeof value === "object") {
    for (const [inner, one] of Object.entries(value)) words(`${key}.${inner}`, one, into, nameOf);
  } else if (netKeys.has(last) && typeof value === "number") into.set(key, nameOf(value));
  else into.set(key, String(value));
}

function isGiven(value: unknown): value is Given {
  return typeof value === "object" && value !== null && "origin" in value && "value" in value;
}

function voltsChanges(before: CheckResult, after: CheckResult): VoltsChange[] {
  const states = [...new Set([...before.analysis.states, ...after.analysis.states])];
  const nets = [...new Set([...before.circuit.netByName.keys(), ...after.circuit.netByName.keys()])];
  return states.flatMap((state) =>
    levels.flatMap((mains) => {
      const read = (result: CheckResult) => {
        const solution = result.analysis.solution(state, mains);
        return (net: string) => {
          const index = result.circuit.netByName.get(net);
          const volts = index === undefined ? undefined : solution?.volts[index];
          return volts !== undefined && Number.isFinite(volts) ? volts : null;
        };
      };
      const old = read(before);
      const now = read(after);
      return nets
        .map((net): VoltsChange => ({ net, state, mains, old: old(net), new: now(net) }))
        .filter((change) => moved(change.old, change.new));
    }),
  );
}

function moved(a: number | null, b: number | null): boolean {
  if (a === null || b === null) return a !== b;
  return Math.abs(a - b) > Math.max(leastVolts, leastShare * Math.max(Math.abs(a), Math.abs(b)));
}

function marginChanges(before: readonly Margin[], after: readonly Margin[]): MarginChange[] {
  const old = worst(before);
  const now = worst(after);
  return [...new Set([...old.keys(), ...now.keys()])]
    .map((key): MarginChange => {
      const one = (now.get(key) ?? old.get(key)) as { margin: Margin };
      const { on, rule, unit } = one.margin;
      return { on, rule, unit, old: old.get(key)?.share ?? null, new: now.get(key)?.share ?? null };
    })
    .filter((change) =>
      change.old === null || change.new === null
        ? change.old !== change.new
        : Math.abs(change.old - change.new) > leastMargin,
    );
}

function worst(margins: readonly Margin[]): Map<string, { readonly share: number; readonly margin: Margin }> {
  const byKey = new Map<string, { share: number; margin: Margin }>();
  for (const margin of margins) {
    const share = margin.breach === "below" ? margin.limit / margin.value : margin.value / margin.limit;
    if (!Number.isFinite(share)) continue;
    const key = `${margin.rule} ${margin.on} ${margin.unit}`;
    if (share > (byKey.get(key)?.share ?? Number.NEGATIVE_INFINITY)) byKey.set(key, { share, margin });
  }
  return byKey;
}

function findingChanges(before: CheckResult, after: CheckResult): Comparison["findings"] {
  const standing = (result: CheckResult) =>
    reportOf(result).findings.filter((finding) => stands(finding) && finding.severity !== "unchecked");
  const key = (finding: ReportFinding) => identity(finding.severity, finding);
  const left = new Map<string, ReportFinding[]>();
  for (const finding of standing(before))
    left.set(key(finding), [...(left.get(key(finding)) ?? []), finding]);
  const appeared: ReportFinding[] = [];
  let stayed = 0;
  for (const finding of standing(after)) {
    if (left.get(key(finding))?.shift()) stayed++;
    else appeared.push(finding);
  }
  return { appeared, gone: [...left.values()].flat(), stayed };
}
