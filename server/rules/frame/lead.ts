/** One cause, one finding: what follows from a finding is attached to it or marked with it. */
import type { Finding, Lead, Related, Rule } from "../rule.ts";

/** @returns the findings with followers taken out (told in their leader's `related`) or marked, leaders in front. */
export function lead(found: readonly Finding[], rules: readonly Rule[]): readonly Finding[] {
  const leads = new Map(
    rules.filter((rule) => rule.leads?.length).map((rule) => [rule.id, rule.leads ?? []]),
  );
  if (leads.size === 0) return found;
  const leaders = new Leaders(found, leads);
  if (leaders.none) return found;

  const attached = new Map<Finding, Related[]>();
  const kept: Finding[] = [];
  for (const finding of found) {
    const led = leaders.standing(finding);
    if (!led || led.leader === finding) kept.push(finding);
    else if (led.manner === "mark") kept.push({ ...finding, follows: led.leader.rule });
    else {
      const on = finding.on[0] ?? "";
      const related = { on, message: `follows from this: ${finding.message}`, place: finding.place };
      const list = attached.get(led.leader);
      if (list) list.push(related);
      else attached.set(led.leader, [related]);
    }
  }
  return kept.map((finding) => {
    const related = attached.get(finding);
    return related ? { ...finding, related: [...finding.related, ...related] } : finding;
  });
}

interface First {
  readonly leader: Finding;
  readonly at: number;
}

/** The first finding of each leading rule, and the first on each part: who leads is found without looking through all. */
class Leaders {
  private readonly anywhere = new Map<string, First>();
  private readonly onPart = new Map<string, Map<string, First>>();
  private readonly byFollower = new Map<string, readonly { readonly rule: string; readonly entry: Lead }[]>();

  constructor(
    found: readonly Finding[],
    private readonly leads: ReadonlyMap<string, readonly Lead[]>,
  ) {
    for (const [at, leader] of found.entries()) {
      if (!leads.has(leader.rule)) continue;
      if (!this.anywhere.has(leader.rule)) this.anywhere.set(leader.rule, { leader, at });
      let parts = this.onPart.get(leader.rule);
      if (!parts) {
        parts = new Map();
        this.onPart.set(leader.rule, parts);
      }
      for (const on of leader.on) if (!parts.has(on)) parts.set(on, { leader, at });
    }
  }

  get none(): boolean {
    return this.anywhere.size === 0;
  }

  /** The leader, or what it was itself attached to: nothing follows a finding that is not on the page. */
  standing(finding: Finding): { readonly leader: Finding; readonly manner: Lead["manner"] } | undefined {
    const led = this.of(finding);
    if (!led) return undefined;
    const passed = new Set<Finding>();
    let { leader } = led;
    while (!passed.has(leader)) {
      passed.add(leader);
      const next = this.of(leader);
      if (next?.manner !== "attach") break;
      leader = next.leader;
    }
    return { leader, manner: led.manner };
  }

  /** Of all that lead a finding, the one that was found first. */
  of(finding: Finding): { readonly leader: Finding; readonly manner: Lead["manner"] } | undefined {
    let first: First | undefined;
    let manner: Lead["manner"] = "mark";
    for (const { rule, entry } of this.entriesFor(finding.rule)) {
      const candidates =
        entry.sharing === "any"
          ? [this.anywhere.get(rule)]
          : (entry.sharing === "first" ? finding.on.slice(0, 1) : finding.on).map((on) =>
              this.onPart.get(rule)?.get(on),
            );
      for (const candidate of candidates) {
        if (!candidate || (first && candidate.at >= first.at) || tooLate(candidate.leader, finding)) continue;
        if (entry.explains?.(candidate.leader, finding) === false) continue;
        first = candidate;
        manner = entry.manner;
      }
    }
    return first && { leader: first.leader, manner };
  }

  /** What leads a rule's findings, by the rules that were found here. */
  private entriesFor(follower: string) {
    let entries = this.byFollower.get(follower);
    if (!entries) {
      entries = [...this.anywhere.keys()].flatMap((rule) =>
        rule === follower || leadsBack(rule, follower, this.leads)
          ? []
          : (this.leads.get(rule) ?? [])
              .filter((entry) =>
                entry.rule.endsWith("/") ? follower.startsWith(entry.rule) : follower === entry.rule,
              )
              .map((entry) => ({ rule, entry })),
      );
      this.byFollower.set(follower, entries);
    }
    return entries;
  }
}

/** What only full drive brings about is no cause of what is there without a signal. */
function tooLate(leader: Finding, follower: Finding): boolean {
  return leader.state === "drive" && follower.state !== undefined && follower.state !== "drive";
}

/** True where the two rules claim to lead each other: a leader must not vanish with what it leads. */
function leadsBack(leader: string, follower: string, leads: ReadonlyMap<string, readonly Lead[]>): boolean {
  return (leads.get(follower) ?? []).some((entry) => entry.rule === leader);
}
