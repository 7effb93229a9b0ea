/** The one pure function that the rest of the program calls: text in, voltages and findings out. */
import { moveBetween } from "../grammar/moved.ts";
import { parseInSteps } from "../grammar/parse.ts";
import type { Tree } from "../grammar/tree.ts";
import { buildCircuitInSteps } from "./circuit/build.ts";
import { atOnce, type InSteps } from "./circuit/in-steps.ts";
import { KeptWith } from "./circuit/kept-with.ts";
import type { Circuit, CircuitProblem, MainsSupply, Region } from "./circuit/model.ts";
import type { Earlier } from "./earlier.ts";
import { regions, supplyRange, unregioned } from "./facts/regions.ts";
import { bookWith } from "./facts/valves/book.ts";
import { takenOver } from "./physics/alike.ts";
import { analyse } from "./physics/analyse.ts";
import { lawsOf } from "./physics/laws/own.ts";
import type { Analysis } from "./physics/results.ts";
import { moved } from "./rules/moved.ts";
import type { CheckOptions, Finding, Fix, Margin, Unchecked } from "./rules/rule.ts";
import { type RunOptions, type RunResult, runRulesInSteps } from "./rules/run.ts";

export { largestText } from "./largest-text.ts";

/** How included files are read; gives undefined where there is no such file. Pure in tests, the file system in hosts. */
export type ReadInclude = (file: string) => string | undefined;

export interface CheckResult {
  readonly file: string;
  /** Every file read, main first, with its text and tree. */
  readonly sources: ReadonlyMap<string, { readonly text: string; readonly tree: Tree }>;
  readonly circuit: Circuit;
  readonly analysis: Analysis;
  /** Sorted by file, place, rule, what follows from another behind it. Waived ones stay, marked. */
  readonly findings: readonly Finding[];
  /** Limits held against a number. */
  readonly checked: number;
  /** Limits that could not be checked. */
  readonly unchecked: number;
  /** The limits that were held against numbers, and those that could not be: for margin tables. */
  readonly margins: readonly Margin[];
  readonly missed: readonly Unchecked[];
}

export interface CheckInput extends CheckOptions {
  readonly readInclude?: ReadInclude;
  /** An earlier check of the text: where only ratings, comments, readings or waivers differ, its solutions serve again. */
  readonly previous?: Pick<CheckResult, "analysis"> | CheckResult;
  /** What was solved before, by this text or others: it serves where the physics is the same, and what is solved now is kept in it. */
  readonly earlier?: Earlier;
  /** How the main text is read: `parseInSteps` where left out, or whatever gives the same. */
  readonly readTree?: (file: string, text: string) => InSteps<Tree>;
}

/** @throws never for any text. */
export type Check = (file: string, text: string, input?: CheckInput) => CheckResult;

/**
 * Checks one netlist.
 * @param file key of the text: findings name it, and included files are looked for beside it
 * @throws never for any text.
 */
export const check: Check = (file, text, input = {}) => atOnce(steps(file, text, input, true));

/**
 * The same in steps of a few milliseconds, for a host that has others to answer meanwhile: what is left between two
 * steps may be thrown away when the text has changed.
 */
export function checkSteps(file: string, text: string, input: CheckInput = {}): InSteps<CheckResult> {
  return steps(file, text, input, true);
}

function* steps(
  file: string,
  text: string,
  { previous, earlier, readTree, ...input }: CheckInput,
  fixes: boolean,
): InSteps<CheckResult> {
  const tree = yield* readTree ? readTree(file, text) : parseInSteps(text);
  yield;
  const { circuit: built, sources } = yield* buildCircuitInSteps(
    file,
    text,
    tree,
    input.readInclude,
    input.valves && bookWith(input.valves.valves),
  );
  const circuit = withSettings(withSyntax(built, sources), input);
  yield;
  const analysis =
    (previous && takenOver(previous.analysis, circuit)) ??
    earlier?.find(circuit) ??
    analyse(circuit, input.valves ? { laws: lawsOf(input.valves) } : {});
  yield* analysis.everything();
  earlier?.keep(analysis);
  const options = {
    ...input,
    recheck: fixes ? recheckOf(file, sources, { ...input, previous: { analysis } }) : undefined,
  };
  const run =
    (previous && (yield* runBefore(previous, file, sources, options))) ??
    (yield* runRulesInSteps(circuit, analysis, options));
  const { findings, checked, unchecked, margins, missed } = run;
  const result = { file, sources, circuit, analysis, findings, checked, unchecked, margins, missed };
  if (fixes) checkedWith.set(result, input);
  return result;
}

/** What each check was given, by its result: what serves again must have been found with the same. */
const checkedWith = new KeptWith<object, CheckOptions>();

/** What the rules found in the text before, where a comment or blanks have been edited and nothing else. */
function* runBefore(
  previous: Pick<CheckResult, "analysis"> | CheckResult,
  file: string,
  sources: CheckResult["sources"],
  options: RunOptions,
): InSteps<RunResult | undefined> {
  const input = checkedWith.get(previous);
  if (!input || !("sources" in previous) || previous.file !== file || !sameOptions(input, options))
    return undefined;
  const before = previous.sources.get(file);
  const after = sources.get(file);
  if (!before || !after || previous.sources.size > 1 || sources.size > 1 || before === after)
    return undefined;
  // What a host reads for a file that is included may have changed as well.
  if (after.tree.statements.some((statement) => statement.node === "include")) return undefined;
  const move = yield* moveBetween(before, after);
  return move && moved(previous, file, move, options);
}

const optionNames: Readonly<Record<keyof CheckOptions, true>> = {
  today: true,
  margins: true,
  severity: true,
  region: true,
  ambient: true,
  valves: true,
};

function sameOptions(a: CheckOptions, b: CheckOptions): boolean {
  return (Object.keys(optionNames) as (keyof CheckOptions)[]).every((name) => a[name] === b[name]);
}

/** The ambient and the mains region that the options give, where the file gives none. */
function withSettings(circuit: Circuit, { ambient, region }: CheckOptions): Circuit {
  let { assumptions, mains } = circuit;
  if (ambient !== undefined && assumptions.ambientCelsius.origin !== "file")
    assumptions = {
      ...assumptions,
      ambientCelsius: { value: ambient, origin: "default", source: "the configuration" },
    };
  if (region !== undefined && region in regions && mains.region === undefined)
    mains = inRegion(mains, region as Region);
  if (assumptions === circuit.assumptions && mains === circuit.mains) return circuit;
  return { ...circuit, assumptions, mains };
}

/** What the file writes of its mains stays: volts, hertz, and a tolerance that it assumes. */
function inRegion(mains: MainsSupply, region: Region): MainsSupply {
  const { hertz } = regions[region];
  const range = supplyRange(regions[region], mains.given ? mains.volts.nominal : undefined);
  const own = mains.toleranceSource !== unregioned.source;
  return {
    ...mains,
    region,
    hertz: mains.given ? mains.hertz : hertz,
    volts: own ? mains.volts : range.volts,
    toleranceSource: own ? mains.toleranceSource : range.source,
  };
}

/** What the parser found wrong stands among the circuit's problems, so that it is sorted, counted and waived alike. */
function withSyntax(circuit: Circuit, sources: CheckResult["sources"]): Circuit {
  const syntax = [...sources].flatMap(([file, { tree }]) =>
    tree.problems.map(
      ({ rule, message, range }): CircuitProblem => ({ rule, message, place: { file, range }, on: [] }),
    ),
  );
  return syntax.length > 0 ? { ...circuit, problems: [...syntax, ...circuit.problems] } : circuit;
}

/** Made here, so that what a finding keeps for its fix does not keep the check before this one, and all before that. */
function recheckOf(
  file: string,
  sources: CheckResult["sources"],
  input: CheckInput,
): (edits: Fix["edits"]) => readonly Finding[] | undefined {
  return (edits) => recheck(file, sources, edits, input);
}

/** All findings once the edits are made; undefined where two of them overlap or one lies in a file that wasn't read. */
function recheck(
  file: string,
  sources: CheckResult["sources"],
  edits: Fix["edits"],
  input: CheckInput,
): readonly Finding[] | undefined {
  const edited = applyEdits(sources, edits);
  if (!edited) return undefined;
  const main = edited.get(file) ?? sources.get(file)?.text;
  if (main === undefined) return undefined;
  const readInclude: ReadInclude = (included) => edited.get(included) ?? input.readInclude?.(included);
  return atOnce(steps(file, main, { ...input, readInclude }, false)).findings;
}

/**
 * @returns the new text of every file that an edit touches, or undefined where the edits can't all be made: two overlap,
 *   or one is in a file that isn't among the sources
 */
export function applyEdits(
  sources: ReadonlyMap<string, { readonly text: string }>,
  edits: Fix["edits"],
): ReadonlyMap<string, string> | undefined {
  const byFile = new Map<string, Fix["edits"][number][]>();
  for (const edit of edits) byFile.set(edit.place.file, [...(byFile.get(edit.place.file) ?? []), edit]);
  const texts = new Map<string, string>();
  for (const [file, own] of byFile) {
    const source = sources.get(file);
    if (!source) return undefined;
    own.sort((a, b) => a.place.range.start - b.place.range.start);
    let text = "";
    let at = 0;
    for (const { place, text: inserted } of own) {
      if (place.range.start < at) return undefined;
      text += source.text.slice(at, place.range.start) + inserted;
      at = place.range.end;
    }
    texts.set(file, text + source.text.slice(at));
  }
  return texts;
}
