/** Laws of a user's own types beside the published ones: as stated, or of parameters that were fitted on load. */
import type { ValveFile } from "../../facts/valves/file.ts";
import { factsOf } from "../../facts/valves/index.ts";
import type { OwnValves } from "../../facts/valves/own.ts";
import type { DiodeLaw, SectionLaw } from "../device.ts";
import { lawOf, rectifierLaw, sectionLaw, semiconductorLaw, statedLaw } from "./index.ts";
import { perveanceFromDrop, perveanceLaw } from "./rectifier.ts";
import { junctionLaw } from "./semiconductor.ts";

export interface Laws {
  readonly section: (type: string, section: string) => SectionLaw | undefined;
  readonly rectifier: (type: string) => DiodeLaw | undefined;
  readonly semiconductor: (type?: string, ratedAmps?: number) => DiodeLaw;
}

export function lawsOf({ valves, fits }: OwnValves): Laws {
  const key = (name: string) => name.toUpperCase().replace(/[\s-]/g, "");
  const files = new Map<string, ValveFile>();
  for (const file of valves) for (const { name } of file.equivalents) files.set(key(name), file);
  for (const file of valves) files.set(key(file.type), file);
  const made = new Map<ValveFile, ReadonlyMap<string, SectionLaw>>();
  const sectionsOf = (file: ValveFile): ReadonlyMap<string, SectionLaw> => {
    const laws = new Map(
      Object.entries(fits[file.law_of ?? file.type] ?? {}).map(([name, fit]) => [name, lawOf(fit)]),
    );
    const facts = factsOf(file);
    for (const { name } of facts.sections) {
      const stated = statedLaw(facts, name);
      if (stated) laws.set(name, stated);
    }
    return laws;
  };
  return {
    section(type, section) {
      const file = files.get(key(type));
      if (!file) return sectionLaw(type, section);
      let laws = made.get(file);
      if (!laws) {
        laws = sectionsOf(file);
        made.set(file, laws);
      }
      return laws.get(section) ?? laws.get("");
    },
    rectifier(type) {
      const file = files.get(key(type));
      if (!file) return rectifierLaw(type);
      const drop = file.drop?.[0];
      return drop && perveanceLaw(perveanceFromDrop(drop.mA_per_plate / 1000, drop.drop_V));
    },
    semiconductor(type, ratedAmps) {
      const limits = type === undefined ? undefined : files.get(key(type))?.limits;
      if (limits?.vf_V === undefined) return semiconductorLaw(type, ratedAmps);
      return junctionLaw(limits.vf_V, limits.vf_at_A ?? 1);
    },
  };
}
