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
    const names = others.map((found) => (found.on[0] === first.on[0] ? sectionOf(found) : found.on[0]));
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

/** `V2.b` of a finding on `V2.b.plate`; the valve's reference where it has no sections. */
function sectionOf({ on: [valve, electrode] }: Finding): string {
  const [, section] = electrode?.startsWith(`${valve}.`) ? electrode.slice(valve.length).split(".") : [];
  return section && electrode.split(".").length > valve.split(".").length + 1 ? `${valve}.${section}` : valve;
}

function same(a: Finding, b: Finding): boolean {
  // Two findings on one valve are alike where they are on its two sections.
  if (a.on[0] === b.on[0] && sectionOf(a) === sectionOf(b)) return false;
  if (a.severity !== b.severity || a.state !== b.state || a.mains !== b.mains) return false;
  if (a.value === undefined || b.value === undefined) return false;
  const near = (x: number, y: number) => Math.abs(x - y) <= SAME * Math.abs(x);
  return (
    near(a.value, b.value) && (a.limit === b.limit || near(a.limit ?? Number.NaN, b.limit ?? Number.NaN))
  );
}
