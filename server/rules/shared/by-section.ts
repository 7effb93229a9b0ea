/** What rules find of a valve section beyond its readings: found once for each analysis. */

import { KeptWith } from "../../circuit/kept-with.ts";
import type { Circuit } from "../../circuit/model.ts";
import type { Analysis } from "../../physics/results.ts";
import type { Section } from "./sections.ts";

type Find<T> = (circuit: Circuit, analysis: Analysis, section: Section) => T;

/** The same, kept. */
export function keptBySection<T>(find: Find<T>): Find<T> {
  const kept = new KeptWith<Analysis, Map<string, T>>();
  return (circuit, analysis, section) => {
    let byKey = kept.get(analysis);
    if (!byKey) {
      byKey = new Map();
      kept.set(analysis, byKey);
    }
    if (!byKey.has(section.key)) byKey.set(section.key, find(circuit, analysis, section));
    return byKey.get(section.key)!;
  };
}
