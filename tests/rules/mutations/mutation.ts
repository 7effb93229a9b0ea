/** One fault put into a sound amplifier by a change of its text. */

export interface Sample {
  /** `currawong-15` */
  readonly name: string;
  readonly text: string;
}

export interface Changed {
  readonly text: string;
  /** What the finding must be on: a reference, a net, a winding. */
  readonly on: string;
}

export interface Mutation {
  /** The rule that has to find it. */
  readonly rule: string;
  /** The fault, as a technician would say it. */
  readonly fault: string;
  /** @returns undefined where the sample has nothing that this fault could be put into */
  readonly change: (sample: Sample) => Changed | undefined;
  /** Rules, or families ending in a stroke, whose errors and warnings are the fault's own doing, each with the reason. */
  readonly allow?: Readonly<Record<string, string>>;
  /** Why the finding shows another line than the fault's: it is told where the effect is. */
  readonly elsewhere?: string;
}

/** The first match replaced; undefined where there is none. */
export function replaced(
  sample: Sample,
  from: RegExp | string,
  to: string | ((found: string, ...groups: string[]) => string),
): string | undefined {
  const text = typeof to === "string" ? sample.text.replace(from, to) : sample.text.replace(from, to);
  return text === sample.text ? undefined : text;
}

/** Whole lines that match taken out; undefined where there is none. */
export function without(sample: Sample, line: RegExp): string | undefined {
  const lines = sample.text.split("\n");
  const kept = lines.filter((one) => !line.test(one));
  return kept.length === lines.length ? undefined : kept.join("\n");
}

/** Lines put at the end. */
export const added = (text: string, ...lines: readonly string[]): string =>
  `${text.trimEnd()}\n${lines.join("\n")}\n`;

/** What is changed, or undefined. */
export const on = (reference: string, text: string | undefined): Changed | undefined =>
  text === undefined ? undefined : { text, on: reference };

/** Mutations that only the samples named are made for. */
export const only =
  (names: readonly string[], change: Mutation["change"]): Mutation["change"] =>
  (sample) =>
    names.includes(sample.name) ? change(sample) : undefined;
