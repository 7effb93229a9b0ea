/**
 * Laws of a user's own types beside the published ones: a type that states its law is taken at its word, one that gives
 * points is fitted, once for each file object. Apart from `index.ts` so that the least-squares library is loaded only by
 * who needs it.
 */

import { valveFiles } from "../../facts/valves/all.ts";
import type { ValveFile } from "../../facts/valves/file.ts";
import { factsOf } from "../../facts/valves/index.ts";
import type { DiodeLaw, SectionLaw } from "../device.ts";
import { fitType } from "./fit/fit.ts";
import { lawOf, rectifierLaw, sectionLaw, semiconductorLaw, statedLaw } from "./index.ts";
import { perveanceFromDrop, perveanceLaw } from "./rectifier.ts";
import { junctionLaw } from "./semiconductor.ts";

export interface Laws {
  readonly section: (type: string, section: string) => SectionLaw | undefined;
  readonly rectifier: (type: string) => DiodeLaw | undefined;
  readonly semiconductor: (type?: string) => DiodeLaw;
}

/** Fits of user types, as long as their file objects live. */
const fitted = new WeakMap<ValveFile, ReadonlyMap<string, SectionLaw>>();

/** @param own a user's types, as `userValves` gives them */
export function lawsWith(own: readonly ValveFile[]): Laws {
  const key = (name: string) => name.toUpperCase().replace(/[\s-]/g, "");
  const files = new Map<string, ValveFile>();
  for (const file of own) for (const { name } of file.equivalents) files.set(key(name), file);
  for (const file of own) files.set(key(file.type), file);
  const find = (type: string) => files.get(key(type)) ?? valveFiles.find((file) => file.type === type);
  return {
    section(type, section) {
      const file = files.get(key(type));
      if (!file) return sectionLaw(type, section);
      let laws = fitted.get(file);
      if (!laws) {
        laws = lawsOf(file, find);
        fitted.set(file, laws);
      }
      return laws.get(section) ?? laws.get("");
    },
    rectifier(type) {
      const drop = files.get(key(type))?.drop?.[0];
      if (!files.has(key(type))) return rectifierLaw(type);
      return drop && perveanceLaw(perveanceFromDrop(drop.mA_per_plate / 1000, drop.drop_V));
    },
    semiconductor(type) {
      const limits = type === undefined ? undefined : files.get(key(type))?.limits;
      if (limits?.vf_V === undefined) return semiconductorLaw(type);
      return junctionLaw(limits.vf_V, limits.vf_at_A ?? 1);
    },
  };
}

function lawsOf(
  file: ValveFile,
  find: (type: string) => ValveFile | undefined,
): ReadonlyMap<string, SectionLaw> {
  const stated = statedLaw(factsOf(file));
  if (stated) return new Map([["", stated]]);
  return new Map(
    Object.entries(fitType(file, find) ?? {}).map(([name, fit]) => [name, lawOf(fit.parameters)]),
  );
}
