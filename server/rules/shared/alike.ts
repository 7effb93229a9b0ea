/** Valves that are wired alike are told of together: one cause, one finding. */
import { listed } from "../frame/index.ts";
import type { Finding } from "../rule.ts";

/** Values closer than this are the same fault. */
const SAME = 0.01;

/**
 * Findings of one rule that differ in nothing but the valve that they are on, as one that names them all: the pair of a push-pull
 * stage, valves side by side. The first one's message stands, with the others named behind it.
 */
export function alike(findings: Iterable<Finding>): Finding[] {
  const groups: Finding[][] = [];
  for (const found of findings) {
    const group = groups.find(([first]) => same(first, found));
    if (group) group.push(found);
    else groups.push([found]);
  }
  return groups.map(([first, ...others]) => {
    if (others.length === 0) return first;
    const names = others.map((found) => found.on[0]);
    return {
      ...first,
      message: `${first.message} ${listed(names)} the same.`,
      on: [...new Set([...first.on, ...others.flatMap((found) => found.on)])],
      related: [
        ...first.related,
        ...others.map((found) => ({ on: found.on[0], message: "the same here", place: found.place })),
      ],
    };
  });
}

function same(a: Finding, b: Finding): boolean {
  if (a.on[0] === b.on[0] || a.severity !== b.severity || a.state !== b.state || a.mains !== b.mains)
    return false;
  if (a.value === undefined || b.value === undefined) return false;
  return Math.abs(a.value - b.value) <= SAME * Math.abs(a.value) && a.limit === b.limit;
}
