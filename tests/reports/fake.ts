/** A checked file made by hand, so that the reports are tested without the physics. */
import { lineStartsOf } from "../../grammar/positions.ts";
import type { CheckResult } from "../../server/check.ts";
import type { Circuit } from "../../server/circuit/model.ts";
import type { Analysis, Solution } from "../../server/physics/results.ts";
import type { Finding } from "../../server/rules/rule.ts";

export interface FakeFinding extends Partial<Omit<Finding, "place" | "related">> {
  /** The place is where this stands in the text, first time. */
  readonly at: string;
  readonly in?: string;
  readonly related?: readonly {
    readonly on: string;
    readonly message: string;
    readonly at: string;
    readonly in?: string;
  }[];
}

export function fakeResult(
  texts: Readonly<Record<string, string>>,
  findings: readonly FakeFinding[],
  rest: Partial<CheckResult> = {},
): CheckResult {
  const [main] = Object.keys(texts);
  const place = (at: string, file = main) => {
    const start = texts[file].indexOf(at);
    if (start < 0) throw new Error(`${at} isn't in ${file}`);
    return { file, range: { start, end: start + at.length } };
  };
  return {
    file: main,
    sources: new Map(
      Object.entries(texts).map(([file, text]) => [
        file,
        { text, tree: { statements: [], problems: [], lineStarts: lineStartsOf(text) } },
      ]),
    ),
    circuit: { name: "Test", files: Object.keys(texts) } as unknown as Circuit,
    analysis: {} as Analysis,
    findings: findings.map(({ at, in: file, related, ...finding }) => ({
      rule: "rating/capacitor-voltage",
      severity: "error" as const,
      message: "C22 sees 437 V in cold start at high mains; rated 400 V, over by 9 %.",
      on: ["C22"],
      ...finding,
      place: place(at, file),
      related: (related ?? []).map(({ on, message, at: there, in: elsewhere }) => ({
        on,
        message,
        place: place(there, elsewhere),
      })),
    })),
    checked: 10,
    unchecked: 2,
    margins: [],
    missed: [],
    ...rest,
  };
}

/** A solution with these nets, by index, and readings. */
export function fakeSolution(
  given: Partial<Omit<Solution, "volts">> & { readonly volts: readonly number[] },
): Solution {
  const none = () => new Float64Array(given.volts.length);
  return {
    state: "idle",
    level: "nominal",
    mainsVolts: 230,
    ripple: none(),
    peak: none(),
    trough: none(),
    rms: none(),
    readings: new Map(),
    floating: [],
    solved: true,
    estimates: [],
    netBand: (net) => ({
      nominal: given.volts[net],
      low: given.volts[net] * 0.9,
      high: given.volts[net] * 1.1,
    }),
    band: () => undefined,
    sensitivity: () => [],
    ...given,
    volts: Float64Array.from(given.volts),
  };
}
