/** Findings of a text whose statements have only been moved: the same findings, told where things stand now. */
import { type Move, movedRange } from "../../grammar/moved.ts";
import type { Place } from "../circuit/model.ts";
import { withCheckedFixes, withUntriedFixes } from "./frame/recheck.ts";
import type { Finding } from "./rule.ts";
import type { RunOptions, RunResult } from "./run.ts";

/**
 * @param before what the rules found in the text before, run with the same options
 * @param file the text that was edited; places in other files stay
 * @returns what they would find now; undefined where some place stands at the edit itself
 */
export function moved(
  before: RunResult,
  file: string,
  move: Move,
  options: Pick<RunOptions, "recheck">,
): RunResult | undefined {
  const untried = withUntriedFixes(before.findings);
  if (!untried) return undefined;
  const findings: Finding[] = [];
  const places = new Moving(file, move);
  for (const finding of untried) findings.push(places.finding(finding));
  if (places.lost) return undefined;
  const { checked, unchecked, margins, missed } = before;
  return { findings: withCheckedFixes(findings, options.recheck), checked, unchecked, margins, missed };
}

class Moving {
  /** Some place cannot be told. */
  lost = false;

  constructor(
    private readonly file: string,
    private readonly move: Move,
  ) {}

  finding(finding: Finding): Finding {
    const { fix } = finding;
    return {
      ...finding,
      place: this.place(finding.place),
      related: finding.related.map((one) => ({ ...one, place: this.place(one.place) })),
      fix: fix && {
        ...fix,
        edits: fix.edits.map(({ place, text }) => ({ place: this.place(place), text })),
      },
    };
  }

  private place(place: Place): Place {
    if (place.file !== this.file) return place;
    const range = movedRange(place.range, this.move);
    if (range) return { file: place.file, range };
    this.lost = true;
    return place;
  }
}
