/** Fixes are tried before they are offered. */

import { KeptWith } from "../../circuit/kept-with.ts";
import type { Finding, Fix } from "../rule.ts";

/** Checks the file again with the edits made; gives all findings, or undefined where the edits cannot be made. */
export type Recheck = (edits: Fix["edits"]) => readonly Finding[] | undefined;

/**
 * The same findings, each with a `fix` that is looked into when it is first asked for: it stays only if it removes its
 * finding and adds none. Without a way to look, no fix is offered.
 */
export function withCheckedFixes(findings: readonly Finding[], recheck?: Recheck): readonly Finding[] {
  const checked = checkedFixes(findings, recheck);
  untried.set(checked, findings);
  return checked;
}

const untried = new KeptWith<readonly Finding[], readonly Finding[]>();

/** The findings as they were before anything was looked into, fixes as the rules gave them. */
export function withUntriedFixes(checked: readonly Finding[]): readonly Finding[] | undefined {
  return untried.get(checked);
}

function checkedFixes(findings: readonly Finding[], recheck?: Recheck): readonly Finding[] {
  return findings.map((finding) => {
    const { fix } = finding;
    if (!fix) return finding;
    if (!recheck) return { ...finding, fix: undefined };
    return new FindingToTry(finding, () => holds(finding, fix, findings, recheck));
  });
}

/** A finding whose fix is tried when somebody asks for it. */
class FindingToTry implements Finding {
  readonly rule: Finding["rule"];
  readonly severity: Finding["severity"];
  readonly message: Finding["message"];
  readonly on: Finding["on"];
  readonly place: Finding["place"];
  readonly related: Finding["related"];
  readonly state: Finding["state"];
  readonly mains: Finding["mains"];
  readonly value: Finding["value"];
  readonly limit: Finding["limit"];
  readonly unit: Finding["unit"];
  readonly source: Finding["source"];
  readonly waived: Finding["waived"];
  readonly follows: Finding["follows"];
  readonly #as: Finding;
  readonly #holds: () => boolean;
  #answer: { readonly fix: Fix | undefined } | undefined;
  constructor(as: Finding, holds: () => boolean) {
    this.rule = as.rule;
    this.severity = as.severity;
    this.message = as.message;
    this.on = as.on;
    this.place = as.place;
    this.related = as.related;
    this.state = as.state;
    this.mains = as.mains;
    this.value = as.value;
    this.limit = as.limit;
    this.unit = as.unit;
    this.source = as.source;
    this.waived = as.waived;
    this.follows = as.follows;
    this.#as = as;
    this.#holds = holds;
  }
  get fix(): Fix | undefined {
    this.#answer ??= { fix: this.#holds() ? this.#as.fix : undefined };
    return this.#answer.fix;
  }
}

/**
 * True where the edits remove the finding and add none, of whatever severity. A word put right brings a part to life: what could then
 * not be checked of it, and what its stage delivers, is no new fault.
 */
export function holds(finding: Finding, fix: Fix, before: readonly Finding[], recheck: Recheck): boolean {
  const after = recheck(fix.edits);
  if (!after) return false;
  const slip = finding.rule.startsWith("circuit/");
  const left = count(slip ? after.filter((one) => !isNews(one)) : after);
  const own = keyOf(finding);
  const had = count(before);
  if ((left.get(own) ?? 0) >= (had.get(own) ?? 0)) return false;
  for (const [key, number] of left) if (number > (had.get(key) ?? 0)) return false;
  return true;
}

/** What a part that was not there before has to say of itself in any sound amplifier. */
function isNews({ severity, rule }: Finding): boolean {
  return severity === "unchecked" || rule === "output/power";
}

/** Places move with the edits, and messages carry figures: a finding is told again by its rule and what it is on. */
const keyOf = (finding: Finding): string => `${finding.rule}|${finding.severity}|${finding.on[0] ?? ""}`;

function count(findings: readonly Finding[]): ReadonlyMap<string, number> {
  const counts = new Map<string, number>();
  for (const finding of findings) {
    if (finding.waived) continue;
    const key = keyOf(finding);
    counts.set(key, (counts.get(key) ?? 0) + 1);
  }
  return counts;
}
