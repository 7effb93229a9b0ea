/** Tolerances taken where the file gives none, as fractions (0.05 is ±5 %), the larger side where they differ. */
import type { CapacitorMaterial, ResistorMaterial } from "../circuit/model.ts";
import type { Figure } from "./figure.ts";

const film: Figure = {
  value: 0.1,
  source: "IEC 60062 letter K, usual of film capacitors",
  evidence: "memory",
};

export const resistorTolerance: Readonly<Record<ResistorMaterial | "unknown", Figure>> = {
  "carbon-composition": {
    value: 0.1,
    source: "MIL-R-11 and commercial composition resistors, silver band",
    evidence: "memory",
  },
  "carbon-film": {
    value: 0.05,
    source: "a maker's carbon film sheet (CFR series): J, ±5 %",
    evidence: "seen",
  },
  "metal-film": { value: 0.01, source: "a maker's metal film sheet (MFR series): F, ±1 %", evidence: "seen" },
  "metal-oxide": {
    value: 0.05,
    source: "a maker's metal oxide sheet (MOS series): J, ±5 %",
    evidence: "seen",
  },
  wirewound: { value: 0.05, source: "cement-coated wirewound sheets: J, ±5 %", evidence: "memory" },
  unknown: {
    value: 0.05,
    source: "common practice: ±5 % (IEC 60063 E24) where the kind is not known",
    evidence: "practice",
  },
};

export const potTolerance: Figure = {
  value: 0.2,
  source: "IEC 60062 letter M, usual of pots",
  evidence: "memory",
};
export const thermistorTolerance: Figure = {
  value: 0.2,
  source: "usual of inrush thermistors",
  evidence: "memory",
};

export const capacitorTolerance: Readonly<Record<CapacitorMaterial | "unknown", Figure>> = {
  film,
  paper: { value: 0.2, source: "usual of paper capacitors", evidence: "memory" },
  ceramic: { value: 0.2, source: "IEC 60062 letter M, usual of class 2 ceramic", evidence: "memory" },
  mica: { value: 0.05, source: "IEC 60062 letter J, usual of silvered mica", evidence: "memory" },
  electrolytic: {
    value: 0.2,
    source: "IEC 60062 letter M, on makers' sheets of electrolytic capacitors",
    evidence: "seen",
  },
  unknown: { value: 0.2, source: "common practice: ±20 % where the kind is not known", evidence: "practice" },
};

export const chokeTolerance: Figure = {
  value: 0.2,
  source: "common practice: ±20 % on a smoothing choke's inductance",
  evidence: "practice",
};
export const zenerTolerance: Figure = {
  value: 0.05,
  source: "suffix of ±5 % zener diodes",
  evidence: "memory",
};
