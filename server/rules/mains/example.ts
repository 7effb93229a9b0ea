/** The small complete amplifier that examples of the mains and earth rules are written into. */

export interface ExampleParts {
  readonly name: string;
  readonly mains?: string;
  /** The cord or inlet, whole. */
  readonly cord?: string;
  /** From the earth core to the metal, and circuit common. */
  readonly earth?: string;
  /** From the active to `live`, and the neutral's way to `back`. */
  readonly way?: string;
  readonly transformer?: string;
  readonly rest?: string;
}

const CORD = `cord W1 1.0mm2 anchored {
  active:  inA  60mm brown
  neutral: inN  60mm blue
  earth:   inE 110mm green-yellow
}`;

/** A whole text: what is left out is as a good technician would wire it. */
export function example(parts: ExampleParts): string {
  return `amp "${parts.name}"
${parts.mains ?? "mains 230 V 50 Hz AU"}
${parts.cord ?? CORD}
${
  parts.earth ??
  `inE -- bond E1 own-fixing -- chassis
gnd -- bond E2 -- chassis`
}
${
  parts.way ??
  `inA -- fuse F1 T315mA 250V -- fused
fused -- switch S1 mains 250V 6A -- live`
}
${
  parts.transformer ??
  `transformer T1 40VA {
  primary 230V 30R { live inN }
  heater 6.3V 5A   { h1 gnd }
}`
}
${parts.rest ?? "h1 -- lamp LP1 6.3V 5A -- gnd"}
`;
}
