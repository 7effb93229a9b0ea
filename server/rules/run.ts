/** From what happens to findings: every rule run and guarded, causes put before what follows, waivers applied. */
import { atOnce, type InSteps } from "../circuit/in-steps.ts";
import type { Circuit } from "../circuit/model.ts";
import type { Analysis, Unsolvable } from "../physics/results.ts";
import { commonCause, commonCauseOf } from "./circuit/common-cause.ts";
import { failed, fromProblem } from "./frame/found.ts";
import { lead } from "./frame/lead.ts";
import { limitName } from "./frame/limit.ts";
import { type Recheck, withCheckedFixes } from "./frame/recheck.ts";
import { type Refused, refusedOf } from "./frame/refused.ts";
import { severityFor } from "./frame/severity.ts";
import { inOrder } from "./frame/sort.ts";
import { Tally } from "./frame/tally.ts";
import { type Asked, type Gathered, type Plain, withoutGuesses } from "./frame/unsolved.ts";
import { waive } from "./frame/waive.ts";
import { rules as everyRule, ruleById } from "./index.ts";
import type { CheckOptions, Finding, Margin, Rule, RuleContext, Unchecked } from "./rule.ts";

export interface RunOptions extends CheckOptions {
  /**
   * Checks the file again with a fix's edits made, fixes left alone. With it, a finding's `fix` is looked into the first
   * time that somebody asks for it, and is only there when it removes its finding and adds none. Without it, no fix is
   * offered at all.
   */
  readonly recheck?: Recheck;
  /** For tests: other rules than the catalogue's. */
  readonly rules?: readonly Rule[];
}

export interface RunResult {
  /** Sorted by file, place, rule, what follows from another behind it; waived ones stay, marked. */
  readonly findings: readonly Finding[];
  /** Limits held against a number. */
  readonly checked: number;
  /** Limits that could not be checked. */
  readonly unchecked: number;
  /** The limits that were held against numbers, and those that could not be: for margin tables. */
  readonly margins: readonly Margin[];
  readonly missed: readonly Unchecked[];
}

/** @throws never: a rule that fails becomes a finding that names it, and the others go on. */
export function runRules(circuit: Circuit, analysis: Analysis, options: RunOptions = {}): RunResult {
  return atOnce(runRulesInSteps(circuit, analysis, options));
}

/**
 * Stops of the rules that are passed on as one: each costs the host a look at its clock, which an amplifier's hundred parts need
 * not pay for. Where there are thousands, a single part's bands may take milliseconds.
 */
const stopsInOne = (parts: number): number => Math.max(1, Math.round(1200 / Math.max(parts, 60)));

/** Every rule asked once. */
function* gather(
  circuit: Circuit,
  analysis: Analysis,
  options: RunOptions,
  rules: readonly Rule[],
  plain?: Plain,
): InSteps<Gathered> {
  const tally = new Tally();
  const refused = refusedOf(circuit);
  const rests = ({ key, place }: Refused, on: string, rule: string) =>
    tally.miss(key, on === key ? limitName(rule) : `${limitName(rule)} of ${on}`, place);
  let asked = "";
  const context: RuleContext = {
    circuit,
    analysis,
    options,
    checked: (on, margin) => {
      if (refused && margin && refused.rests(margin, [on])) rests(refused, margin.on, margin.rule);
      else tally.check(on, margin);
      if (plain && !margin) plain.push({ on, rule: asked });
    },
    unchecked: (on, what, place) => tally.miss(on, what, place),
  };
  const found: Finding[] = [];
  const every = stopsInOne(circuit.parts.length);
  let stops = 0;
  for (const rule of rules) {
    asked = rule.id;
    try {
      // One by one: what a rule found before it failed is kept.
      for (const finding of rule.check(context)) {
        if (finding) {
          if (refused?.rests(finding, finding.on)) rests(refused, finding.on[0], finding.rule);
          else found.push(finding);
        } else if (++stops % every === 0) yield;
      }
    } catch (error) {
      found.push(failed(circuit, rule, error));
      tally.miss(rule.id, "the whole rule", found[found.length - 1].place);
    }
    yield;
  }
  return { found, tally };
}

/**
 * Of a circuit of which something has no solution: findings and limits of the rest, and as unchecked all that would have been held
 * against a limit besides.
 */
function* gatherUnsolved(
  circuit: Circuit,
  { blind, rest, guesses }: Unsolvable,
  options: RunOptions,
  rules: readonly Rule[],
): InSteps<Gathered> {
  const guessed: Asked[] = [];
  for (const guess of guesses) guessed.push(yield* ask(guess, options, rules));
  return withoutGuesses(circuit, rest, {
    blind: yield* ask(blind, options, rules),
    rest: yield* ask(rest, options, rules),
    guessed,
  });
}

/** Every rule asked, and what they count without a number kept. */
function* ask(analysis: Analysis, options: RunOptions, rules: readonly Rule[]): InSteps<Asked> {
  const plain: { on: string; rule: string }[] = [];
  const { found, tally } = yield* gather(analysis.circuit, analysis, options, rules, plain);
  return { found, tally, plain };
}

/** The same with stops behind and within the rules, for a host that has others to answer meanwhile. */
export function* runRulesInSteps(
  circuit: Circuit,
  analysis: Analysis,
  options: RunOptions = {},
): InSteps<RunResult> {
  const rules = options.rules ?? everyRule;
  const unsolved = analysis.unsolved();
  const gathered = unsolved
    ? yield* gatherUnsolved(circuit, unsolved, options, rules)
    : yield* gather(circuit, analysis, options, rules);
  const { tally } = gathered;
  const found: Finding[] = circuit.problems.map((problem) => fromProblem(problem, ruleById));
  for (const finding of gathered.found) found.push(finding);
  for (const finding of tally.findings(circuit)) found.push(finding);
  const cause = commonCauseOf(circuit, found);
  if (cause && rules.includes(commonCause)) found.push(cause);

  const led = lead(found, rules);
  const known = new Set([...ruleById.keys(), ...rules.map((rule) => rule.id)]);
  const waived = waive(circuit, led, known, options);
  const findings = inOrder(circuit, severityFor(waived, options));
  return {
    findings: withCheckedFixes(findings, options.recheck),
    checked: tally.checked,
    unchecked: tally.unchecked,
    margins: tally.margins,
    missed: tally.missed,
  };
}
