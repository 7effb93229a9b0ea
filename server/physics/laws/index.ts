/**
 * The law of every valve section, rectifier plate and semiconductor, by type. Laws are stateless: one object serves
 * every valve of its type.
 */
import type { LawParameters } from "../../facts/valves/fit-file.ts";
import { fits } from "../../facts/valves/fits.ts";
import { findSemiconductor, findValve, type ValveFacts } from "../../facts/valves/index.ts";
import { semiconductorPractice } from "../../facts/valves/practice.ts";
import type { DiodeLaw, SectionLaw } from "../device.ts";
import { pentodeLaw } from "./pentode.ts";
import { perveanceFromDrop, perveanceLaw } from "./rectifier.ts";
import { junctionLaw } from "./semiconductor.ts";
import { threeHalvesPentode, threeHalvesTriode } from "./three-halves.ts";
import { triodeLaw } from "./triode.ts";

export { zenerLaw } from "./semiconductor.ts";
export { perveanceLaw };

export function lawOf(parameters: LawParameters): SectionLaw {
  return parameters.law === "triode" ? triodeLaw(parameters) : pentodeLaw(parameters);
}

/** The three-halves law of a section whose type gives it instead of points; undefined for any other. */
export function statedLaw(facts: ValveFacts, section: string): SectionLaw | undefined {
  const file = facts.file.sections.find((one) => one.name === section);
  const law = file?.law ?? facts.file.law;
  if (!file || !law) return undefined;
  const k = law.k_mA_per_V1p5 / 1000;
  return "screen" in file.pins
    ? threeHalvesPentode(k, law.mu, law.plate_share ?? 1)
    : threeHalvesTriode(k, law.mu);
}

const sectionLaws = new Map<string, SectionLaw | undefined>();

/**
 * @param type    any name of the valve
 * @param section `a`, `b`; `triode`, `pentode`; empty for a valve of one section
 * @returns undefined for an unknown type, a rectifier, or a type whose sheet gives too little to fit
 */
export function sectionLaw(type: string, section: string): SectionLaw | undefined {
  const key = `${type} ${section}`;
  let law = sectionLaws.get(key);
  if (law === undefined && !sectionLaws.has(key)) {
    const file = findValve(type)?.file;
    const fit = fits[file?.law_of ?? file?.type ?? ""];
    const parameters = fit?.[section] ?? fit?.[""];
    law = parameters && lawOf(parameters);
    sectionLaws.set(key, law);
  }
  return law;
}

const rectifierLaws = new Map<string, DiodeLaw | undefined>();

/** @returns the law of one plate to its cathode; undefined for an unknown type or one without a published drop. */
export function rectifierLaw(type: string): DiodeLaw | undefined {
  let law = rectifierLaws.get(type);
  if (law === undefined && !rectifierLaws.has(type)) {
    const perveance = rectifierPerveance(type);
    law = perveance === undefined ? undefined : perveanceLaw(perveance);
    rectifierLaws.set(type, law);
  }
  return law;
}

/** Amperes at one volt of one plate of a rectifier valve, from the leading published drop. */
export function rectifierPerveance(type: string): number | undefined {
  const drop = findValve(type)?.drop[0];
  return drop && perveanceFromDrop(drop.amps, drop.volts);
}

/** @param type a silicon rectifier; a general one where it is left out or not known. */
/** @param ratedAmps of a part that names no type: a larger chip drops its printed volts at a larger current */
export function semiconductorLaw(type?: string, ratedAmps?: number): DiodeLaw {
  const limits = type === undefined ? undefined : findSemiconductor(type)?.limits;
  const volts = limits?.forwardVolts ?? semiconductorPractice.forwardVolts;
  const rated = type === undefined && ratedAmps !== undefined && ratedAmps > 0 ? ratedAmps : undefined;
  return junctionLaw(volts, limits?.forwardVoltsAtAmps ?? rated ?? semiconductorPractice.forwardAmps);
}
