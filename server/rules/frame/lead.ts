/** One cause, one finding: what follows from a finding is attached to it or marked with it. */
import type { Finding, Lead, Related, Rule } from "../rule.ts";

/** @returns the findings with followers taken out (told in their leader's `related`) or marked, leaders in front. */
export function lead(found: readonly Finding[], rules: readonly Rule[]): readonly Finding[] {
  const leads = new Map(
    rules.filter((rule) => rule.leads?.length).map((rule) => [rule.id, rule.leads ?? []]),
  );
  if (leads.size === 0) return found;
  const leaders = found.filter((finding) => leads.has(finding.rule));
  if (leaders.length === 0) return found;

  const attached = new Map<Finding, Related[]>();
  const kept: Finding[] = [];
  for (const finding of found) {
    const [leader, manner] = leaderOf(finding, leaders, leads);
    if (!leader) kept.push(finding);
    else if (manner === "mark") kept.push({ ...finding, follows: leader.rule });
    else {
      const related = attached.get(leader) ?? [];
      const on = finding.on[0] ?? "";
      related.push({ on, message: `follows from this: ${finding.message}`, place: finding.place });
      attached.set(leader, related);
    }
  }
  return kept.map((finding) => {
    const related = attached.get(finding);
    return related ? { ...finding, related: [...finding.related, ...related] } : finding;
  });
}

function leaderOf(
  finding: Finding,
  leaders: readonly Finding[],
  leads: ReadonlyMap<string, readonly Lead[]>,
): [Finding, Lead["manner"]] | [undefined, undefined] {
  for (const leader of leaders) {
    if (leader === finding || leader.rule === finding.rule) continue;
    for (const entry of leads.get(leader.rule) ?? []) {
      const named = entry.rule.endsWith("/")
        ? finding.rule.startsWith(entry.rule)
        : finding.rule === entry.rule;
      if (!named) continue;
      if (entry.sharing === "part" && !finding.on.some((on) => leader.on.includes(on))) continue;
      // A leader that follows itself from another finding of the same pair must not vanish with it.
      if (leaderIsLed(leader, finding, leads)) continue;
      return [leader, entry.manner];
    }
  }
  return [undefined, undefined];
}

/** True where the two rules claim to lead each other. */
function leaderIsLed(
  leader: Finding,
  follower: Finding,
  leads: ReadonlyMap<string, readonly Lead[]>,
): boolean {
  return (leads.get(follower.rule) ?? []).some((entry) => entry.rule === leader.rule);
}
