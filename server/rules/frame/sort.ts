/**
 * The order of findings: by file as read, place, rule, what they are on; what follows from another stands right behind it, wherever
 * its own place is: causes before consequences. The same text gives the same list.
 */
import type { Circuit } from "../../circuit/model.ts";
import type { Finding } from "../rule.ts";

export function inOrder(circuit: Circuit, found: readonly Finding[]): readonly Finding[] {
  const files = new Map(circuit.files.map((file, index) => [file, index]));
  const fileOf = (finding: Finding) => files.get(finding.place.file) ?? files.size;
  const text = (a: string, b: string) => (a < b ? -1 : a > b ? 1 : 0);
  const seen = new Set<string>();
  const byPlace = found
    .filter((finding) => {
      const { file, range } = finding.place;
      const key = `${finding.rule}|${finding.on.join(" ")}|${file}:${range.start}|${finding.message}`;
      if (seen.has(key)) return false;
      seen.add(key);
      return true;
    })
    .sort(
      (a, b) =>
        fileOf(a) - fileOf(b) ||
        a.place.range.start - b.place.range.start ||
        // A leader stands before what follows from it.
        Number(a.follows !== undefined) - Number(b.follows !== undefined) ||
        text(a.rule, b.rule) ||
        text(a.on.join(" "), b.on.join(" ")) ||
        text(a.message, b.message),
    );
  return behindTheirLeaders(byPlace);
}

/** Each follower right behind its leader, and behind what else follows from it further up; the rest stays as it is. */
function behindTheirLeaders(sorted: readonly Finding[]): readonly Finding[] {
  // The first of each rule, and the first of it on each part: found without looking through all of them.
  const first = new Map<string, Finding>();
  const onPart = new Map<string, Finding>();
  for (const finding of sorted) {
    if (!first.has(finding.rule)) first.set(finding.rule, finding);
    for (const on of finding.on)
      if (!onPart.has(`${finding.rule}|${on}`)) onPart.set(`${finding.rule}|${on}`, finding);
  }
  const followers = new Map<Finding, Finding[]>();
  const led = new Map<Finding, Finding>();
  for (const finding of sorted) {
    if (finding.follows === undefined) continue;
    const rule = finding.follows;
    const shared = finding.on.find((on) => onPart.has(`${rule}|${on}`));
    const leader = shared === undefined ? first.get(rule) : onPart.get(`${rule}|${shared}`);
    if (!leader || leader === finding || leadsUp(led, leader, finding)) continue;
    led.set(finding, leader);
    const list = followers.get(leader);
    if (list) list.push(finding);
    else followers.set(leader, [finding]);
  }
  if (followers.size === 0) return sorted;
  const ordered: Finding[] = [];
  const put = (finding: Finding) => {
    ordered.push(finding);
    for (const follower of followers.get(finding) ?? []) put(follower);
  };
  for (const finding of sorted) if (!led.has(finding)) put(finding);
  return ordered;
}

/** True where `finding` is itself above `leader`: two that follow each other stay where they are. */
function leadsUp(led: ReadonlyMap<Finding, Finding>, leader: Finding, finding: Finding): boolean {
  for (let above: Finding | undefined = leader; above; above = led.get(above))
    if (above === finding) return true;
  return false;
}
